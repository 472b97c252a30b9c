/** What the computer knows of itself; null where it does not say. Never throws: what cannot be read is unknown. */
export interface HostState {
  /** Bytes free where a file lies. */
  freeBytes(file: string): Promise<number | null>;
  /** `share` 0 to 1. */
  power(): Promise<{ readonly share: number | null; readonly charging: boolean } | null>;
}
