/**
 * All commands that Gripbook may send to a CAN adapter, as a closed type, and the last check before they are sent. They listen only; none
 * transmits on the bus. Anything else throws RangeError before a byte leaves.
 */

/** Left out on purpose: `O`, which opens the channel for transmitting too, and every command that sends a frame. */
export type ListenOnlyCommand = "C" | "L" | "V" | "N" | "F" | `Z${0 | 1}` | `S${0 | 1 | 2 | 3 | 4 | 5 | 6 | 7 | 8}`;

const ALLOWED = /^(C|S[0-8]|Z[01]|L|V|N|F)$/;

/** Bit rates of S0 to S8 (Linux slcan driver; docs/check-values.md, SLCAN; some adapters mean 750 kbit/s by S7). */
const BITRATES: readonly (readonly [number, ListenOnlyCommand])[] = [
  [10_000, "S0"],
  [20_000, "S1"],
  [50_000, "S2"],
  [100_000, "S3"],
  [125_000, "S4"],
  [250_000, "S5"],
  [500_000, "S6"],
  [800_000, "S7"],
  [1_000_000, "S8"],
];

/** The set-bit-rate command for bits a second. Throws RangeError, naming the rates there are. */
export function bitrateCommand(bitrate: number): ListenOnlyCommand {
  const command = BITRATES.find(([known]) => known === bitrate)?.[1];
  if (command !== undefined) return command;
  const rates = BITRATES.map(([known]) => known).join(", ");
  throw new RangeError(`Expected a bus bit rate of ${rates}, got ${bitrate}; correct "bitrate" in the set-up file`);
}

/** The command's bytes as text. Checked again here, because types do not exist at run time: throws RangeError for anything else. */
export function wireText(command: ListenOnlyCommand): string {
  if (typeof command === "string" && ALLOWED.test(command)) return `${command}\r`;
  throw new RangeError(
    `Refused to write ${JSON.stringify(command)} to the CAN adapter: only listening commands (C, S0 to S8, Z0, Z1, L, V, N, F) are ever sent`,
  );
}
