/**
 * Whether a log contains what its option says: reads until the first line that is understood. Never throws by itself; errors of the lines
 * pass through.
 */
import { createCandumpParser } from "../../../shared/frames/candump-parser.ts";
import { FrameBatch } from "../../../shared/frames/frame-batch.ts";
import { createReceiverEar } from "../../../shared/receiver/receiver-bytes.ts";
import { createSlcanParser } from "../../../shared/frames/slcan-parser.ts";

type LogKind = "slcan" | "candump" | "nmea";

interface LogLook {
  /** The option that should have been used for this log; null when it is the right one, or no option fits. */
  readonly wrongOption: string | null;
  /** What its lines are; empty when unknown. */
  readonly what: string;
  /** Why nothing in it is understood, in words; null when something is, and for an empty log. */
  readonly problem: string | null;
}

const WORDS = { slcan: "SLCAN frames", candump: "candump frames", nmea: "NMEA sentences" } as const;
const OPTIONS = { slcan: "--slcan", candump: "--can", nmea: "--gnss" } as const;
const NOTHING_WRONG: LogLook = { wrongOption: null, what: "", problem: null };
const CR = new Uint8Array([0x0d]);
const LF = new Uint8Array([0x0a]);

/** Lines come with or without their end; each reader gets ends added and skips empty lines. */
export function lookAtLog(batches: Generator<readonly { readonly bytes: Uint8Array }[]>, kind: LogKind): LogLook {
  const slcan = createSlcanParser();
  const candump = createCandumpParser();
  const nmea = createReceiverEar();
  const frames = new FrameBatch();
  const understood = (): Record<LogKind, number> => ({
    slcan: slcan.counts.frames,
    candump: candump.counts.frames,
    nmea: nmea.counts.sentences,
  });
  let lines = 0;
  for (const batch of batches) {
    for (const { bytes } of batch) {
      lines += 1;
      for (const part of [bytes, CR]) slcan.push(part, 0, frames);
      for (const part of [bytes, LF]) {
        candump.push(part, 0, frames);
        nmea.push(part);
      }
      frames.clear();
      if (understood()[kind] === 0) continue;
      batches.return(undefined);
      return NOTHING_WRONG;
    }
  }
  if (lines === 0) return NOTHING_WRONG;
  const found = understood();
  const other = (["slcan", "candump", "nmea"] as const).find((one) => found[one] > 0);
  if (other !== undefined) return { wrongOption: OPTIONS[other], what: WORDS[other], problem: null };
  const { missingChecksums } = nmea.counts;
  const lacking =
    kind === "nmea" && missingChecksums > 0
      ? `${missingChecksums} sentences lack their checksum and are not believed; let the receiver send it`
      : `none of its ${lines} lines is among ${WORDS[kind]}; check the device's baud rate, or name another log`;
  return { wrongOption: null, what: "", problem: lacking };
}
