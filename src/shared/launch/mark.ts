/** What a person did during a recording; kept in the journal beside the bytes. */
export interface Mark {
  /** Seconds on the recording's base. */
  readonly tS: number;
  readonly kind: "arm" | "disarm" | "abort" | "label" | "note";
  readonly text: string;
}
