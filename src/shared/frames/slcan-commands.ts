/**
 * The only bytes Gripbook may write to a CAN adapter, and the guard that holds every writer to them: it listens and
 * never transmits. Anything else throws RangeError before a byte leaves.
 */
const ALLOWED = /^(C|S[0-8]|Z[01]|L|V|N|F)\r$/;

/** Bit rates of S0 to S8 (Linux slcan driver; SOURCES section 2; some adapters mean 750 kbit/s by S7). */
const BITRATES: readonly number[] = [10_000, 20_000, 50_000, 100_000, 125_000, 250_000, 500_000, 800_000, 1_000_000];

/** Ready-made commands, each with its CR. Listen-only is the only way to open the channel. */
export const SLCAN_COMMANDS = {
  close: asCommand("C"),
  openListenOnly: asCommand("L"),
  stampsOn: asCommand("Z1"),
  stampsOff: asCommand("Z0"),
  version: asCommand("V"),
  serialNumber: asCommand("N"),
  status: asCommand("F"),
} as const;

/** The set-bit-rate command for bits a second. Throws RangeError, naming the rates there are. */
export function bitrateCommand(bitrate: number): Uint8Array {
  const code = BITRATES.indexOf(bitrate);
  if (code < 0)
    throw new RangeError(`Expected a bus bit rate of ${BITRATES.join(", ")}, got ${bitrate}; correct "bitrate" in the set-up file`);
  return asCommand(`S${code}`);
}

/** Throws RangeError unless `bytes` is exactly one allowed command: the last check before any write to an adapter. */
export function assertListenOnly(bytes: Uint8Array): void {
  const text = String.fromCharCode(...bytes.subarray(0, 4));
  if (bytes.length > 3 || !ALLOWED.test(text)) {
    throw new RangeError(
      `Refused to write ${JSON.stringify(text)} to the CAN adapter: only listening commands (C, S0 to S8, Z0, Z1, L, V, N, F) are ever sent`,
    );
  }
}

function asCommand(text: string): Uint8Array {
  return Uint8Array.from(`${text}\r`, (letter) => letter.charCodeAt(0));
}
