/** What the computer knows about itself; null where it does not say. Never throws: what cannot be read is unknown. */
export interface HostState {
  /** Free bytes on the disk of a file. */
  freeBytes(file: string): Promise<number | null>;
  /** `share` 0 to 1. */
  power(): Promise<{ readonly share: number | null; readonly charging: boolean } | null>;
}
