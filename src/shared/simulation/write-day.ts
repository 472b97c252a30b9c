/**
 * A simulated day as the text of its files, in chunks, so that it can be written to disk as a stream. Throws only what simulateDay throws.
 */
import { carSetUp, carSignalFile } from "./car-files.ts";
import { defaultDayPlan } from "./default-day.ts";
import type { DayPlan } from "./plan.ts";
import { simulateDay } from "./simulate-day.ts";

export const DAY_FILES = ["bus.log", "bus.slcan", "receiver.nmea", "car.dbc", "setup.json", "truth.json"] as const;
export type DayFile = (typeof DAY_FILES)[number];

export interface DayChunk {
  readonly file: DayFile;
  readonly text: string;
}

const CHUNK_CHARACTERS = 1 << 16;

/** "(1935655200.000123) " for a host time in microseconds since the day's start. */
function stamp(startUnixS: number, arrivalUs: number): string {
  const seconds = Math.floor(arrivalUs / 1e6);
  return `(${startUnixS + seconds}.${String(arrivalUs - seconds * 1e6).padStart(6, "0")}) `;
}

/** An adapter line as a log line: identifier, `#`, data; without its stamp. */
function frameText(line: string): string {
  const digits = line.charCodeAt(0) === 84 ? 8 : 3; // "T": 29-bit
  const bytes = line.charCodeAt(1 + digits) - 48;
  return `${line.slice(1, 1 + digits)}#${line.slice(2 + digits, 2 + digits + 2 * bytes)}`;
}

/** Chunks of all six files. Chunks of one file come in order, those of different files are mixed. `truth.json` comes last. */
export function* writeDay({ seed, plan = defaultDayPlan(seed) }: { seed: number; plan?: DayPlan }): Generator<DayChunk, void, undefined> {
  yield { file: "car.dbc", text: carSignalFile() };
  yield { file: "setup.json", text: `${JSON.stringify(carSetUp(plan.bus), null, 2)}\n` };
  const day = simulateDay({ seed, plan });
  const open = { "bus.log": "", "bus.slcan": "", "receiver.nmea": "" };
  for (const packet of day.packets) {
    const at = stamp(day.startUnixS, packet.arrivalUs);
    // Handed over as a list: spread, it is walked byte by byte, which takes a fifth of the day.
    const text = String.fromCharCode.apply(null, packet.bytes as unknown as number[]);
    if (packet.stream === "gnss") open["receiver.nmea"] += at + text;
    else {
      for (const line of text.split("\r")) {
        if (line === "") continue;
        open["bus.slcan"] += `${at}${line}\n`;
        open["bus.log"] += `${at}can0 ${frameText(line)}\n`;
      }
    }
    for (const file of ["bus.log", "bus.slcan", "receiver.nmea"] as const) {
      if (open[file].length < CHUNK_CHARACTERS) continue;
      yield { file, text: open[file] };
      open[file] = "";
    }
  }
  for (const file of ["bus.log", "bus.slcan", "receiver.nmea"] as const) if (open[file] !== "") yield { file, text: open[file] };
  const truth = JSON.stringify(day.truth(), (_, value: unknown) => (typeof value === "number" ? Number(value.toFixed(7)) : value), 2);
  yield { file: "truth.json", text: `${asciiJson(truth)}\n` };
}

/** JSON in plain ASCII, so that a label in any script is safe in any encoding of the file. */
function asciiJson(json: string): string {
  return json.replace(/[\u0080-\uffff]/g, (letter) => `\\u${letter.charCodeAt(0).toString(16).padStart(4, "0")}`);
}
