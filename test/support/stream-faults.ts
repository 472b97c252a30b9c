/**
 * Faults between a device and the book, applied to the lines of a known drive: a stream lost and back, frames repeated, lines or epochs
 * that come twice. Pure: the same lines, fault and random numbers give the same lines. A fault outside of the drive changes nothing.
 */
import type { Random } from "./second-car/random.ts";

/** One line of a device, with its end, and when its first byte came. */
export interface DeviceLine {
  readonly stream: "gnss" | "can";
  readonly arrivalNs: number;
  readonly text: string;
}

export interface Fault {
  /** "hole": nothing came. "tenfold": each frame ten times. "doubled": stretches of lines twice. */
  readonly kind: "hole" | "tenfold" | "doubled";
  readonly streams: readonly DeviceLine["stream"][];
  readonly fromS: number;
  readonly lengthS: number;
  /** The adapter lost its supply: its stamps start again after the hole. */
  readonly restart: boolean;
}

export interface FaultedLines {
  readonly lines: readonly DeviceLine[];
  /** What the source reports about the hole. */
  readonly gaps: readonly { stream: DeviceLine["stream"]; fromNs: number; toNs: number; cause: string }[];
}

const STAMP_DIGITS = 4;
const STAMP_PERIOD_MS = 60_000;
/** Numbers of lines repeated together: one, or as many as one packet of an adapter or a burst of a receiver holds. */
const TOGETHER = [1, 2, 3, 8] as const;

const inside = ({ streams, fromS, lengthS }: Fault, { stream, arrivalNs }: DeviceLine) =>
  streams.includes(stream) && arrivalNs >= fromS * 1e9 && arrivalNs < (fromS + lengthS) * 1e9;

export function applyFault(lines: readonly DeviceLine[], fault: Fault, random: Random): FaultedLines {
  if (fault.kind === "hole") return hole(lines, fault, random);
  const copies = fault.kind === "tenfold" ? 10 : 2;
  const together = fault.kind === "tenfold" ? 1 : random.pick(TOGETHER);
  const out: DeviceLine[] = [];
  const held = { gnss: [] as DeviceLine[], can: [] as DeviceLine[] };
  for (const line of lines) {
    out.push(line);
    const open = held[line.stream];
    if (!inside(fault, line)) continue;
    open.push(line);
    if (open.length < together) continue;
    for (let copy = 1; copy < copies; copy += 1) for (const one of open) out.push({ ...one, arrivalNs: line.arrivalNs });
    open.length = 0;
  }
  return { lines: out, gaps: [] };
}

function hole(lines: readonly DeviceLine[], fault: Fault, random: Random): FaultedLines {
  const kept = lines.filter((line) => !inside(fault, line));
  const gaps = fault.streams.flatMap((stream) => {
    const before = kept.findLast((line) => line.stream === stream && line.arrivalNs < fault.fromS * 1e9);
    const after = kept.find((line) => line.stream === stream && line.arrivalNs >= (fault.fromS + fault.lengthS) * 1e9);
    return before && after ? [{ stream, fromNs: before.arrivalNs, toNs: after.arrivalNs, cause: "unplugged" }] : [];
  });
  if (!fault.restart || !fault.streams.includes("can")) return { lines: kept, gaps };
  const startMs = Math.floor(random.between(0, STAMP_PERIOD_MS));
  const anew = (line: DeviceLine): DeviceLine => {
    if (line.stream !== "can" || line.arrivalNs < fault.fromS * 1e9) return line;
    const end = line.text.length - 1;
    const stampMs = (Number.parseInt(line.text.slice(end - STAMP_DIGITS, end), 16) + startMs) % STAMP_PERIOD_MS;
    return {
      ...line,
      text: line.text.slice(0, end - STAMP_DIGITS) + stampMs.toString(16).toUpperCase().padStart(STAMP_DIGITS, "0") + line.text.slice(end),
    };
  };
  return { lines: kept.map(anew), gaps };
}
