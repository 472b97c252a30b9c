/**
 * Arrival of the last line's first byte, over both streams. This is a recording's end: an exported log, which keeps lines and not packets,
 * gives the same end. Never fails.
 */
import { BEL, CR, LF } from "../../../shared/kernel/ascii.ts";
import type { Packet } from "../../../shared/pipeline/packet.ts";

const isEnd = (byte: number | undefined) => byte === CR || byte === LF || byte === BEL;

export interface LineClock {
  readonly inLine: { readonly gnss: boolean; readonly can: boolean };
  /** 0 before the first line. */
  readonly lineNs: number;
}

export const NO_LINES: LineClock = { inLine: { gnss: false, can: false }, lineNs: 0 };

/** The clock after `packets`, in arrival order. */
export function advanceLineClock(clock: LineClock, packets: readonly Packet[]): LineClock {
  const inLine = { ...clock.inLine };
  let { lineNs } = clock;
  for (const { stream, arrivalNs, bytes } of packets) {
    const { length } = bytes;
    if (length === 0) continue;
    let at = length - 1;
    while (at >= 0 && isEnd(bytes[at])) at -= 1;
    while (at >= 0 && !isEnd(bytes[at])) at -= 1;
    // `at` is now the line end before this packet's last line, or -1 where that line began with the packet's first byte or before.
    if (at >= 0 || (!inLine[stream] && !isEnd(bytes[0]))) lineNs = Math.max(lineNs, arrivalNs);
    inLine[stream] = !isEnd(bytes[length - 1]);
  }
  return { inLine, lineNs };
}
