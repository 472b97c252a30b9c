/** What the simulated devices deliver. Type only. */

/** Bytes that arrive together; `arrivalUs`: whole microseconds of the host's clock since the day's start. */
export interface SimulatedPacket {
  readonly stream: "gnss" | "can";
  readonly arrivalUs: number;
  readonly bytes: Uint8Array;
}
