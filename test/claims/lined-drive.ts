/** A drive of known truth as the lines its devices sent, and those lines decoded by the product's own stages. Lines cut off at either end are left out. */
import { createDecodeStream } from "../../src/shared/pipeline/decode-stream.ts";
import type { Packet } from "../../src/shared/pipeline/packet.ts";
import type { SetUp } from "../../src/shared/setup/set-up.ts";
import { parseDbc } from "../../src/shared/dbc/dbc-file.ts";
import type { RecordingTracks, StreamGap } from "../../src/shared/signals/tracks.ts";
import type { DeviceLine, FaultedLines } from "../support/stream-faults.ts";
import { filesOf } from "../support/second-car/files.ts";
import { drawRecipe, type DriveClass } from "../support/second-car/recipe.ts";
import { recordDrive } from "../support/second-car/second-car.ts";
import { knownOf, type KnownDrive } from "./known-drive.ts";

/** A known drive before decoding. */
export interface LinedDrive {
  readonly known: Omit<KnownDrive, "tracks">;
  readonly signalFile: string;
  readonly lines: readonly DeviceLine[];
  /** Takes away the roles that the class goes without. */
  readonly without: (tracks: RecordingTracks) => RecordingTracks;
}

const LINE_ENDS = { gnss: "\n", can: "\r" } as const;

/** Packets as lines, each arriving with its first byte. */
export function linesOf(packets: readonly Packet[]): DeviceLine[] {
  const open = { gnss: { text: "", arrivalNs: 0 }, can: { text: "", arrivalNs: 0 } };
  const lines: DeviceLine[] = [];
  for (const { stream, arrivalNs, bytes } of packets) {
    const line = open[stream];
    for (const part of Buffer.from(bytes)
      .toString("latin1")
      .split(new RegExp(`(?<=${LINE_ENDS[stream]})`))) {
      if (line.text === "") line.arrivalNs = arrivalNs;
      line.text += part;
      if (!line.text.endsWith(LINE_ENDS[stream])) continue;
      lines.push({ stream, arrivalNs: line.arrivalNs, text: line.text });
      line.text = "";
    }
  }
  return lines.sort((a, b) => a.arrivalNs - b.arrivalNs);
}

export function decodeBytes(setUp: SetUp, signalFile: string, packets: Iterable<Packet>, gaps: readonly StreamGap[]): RecordingTracks {
  const stream = createDecodeStream({ setUp, databases: [parseDbc("car.dbc", signalFile)], canFormat: "slcan" });
  let endNs = 0;
  for (const packet of packets) {
    stream.push(packet);
    endNs = packet.arrivalNs;
  }
  stream.flush();
  return stream.tracks(endNs, gaps);
}

/** A lined drive as the product sees it after a fault; `told`: whether the source told of its holes. */
export function decodeLines({ known, signalFile, without }: LinedDrive, { lines, gaps }: FaultedLines, told: boolean): KnownDrive {
  const packets = lines.map(({ stream, arrivalNs, text }) => ({ stream, arrivalNs, bytes: Buffer.from(text, "latin1") }));
  return { ...known, tracks: without(decodeBytes(known.setUp, signalFile, packets, told ? gaps : [])) };
}

/** A drive of the second generator as lines; stamps of its logs count from its first whole second. */
export function secondCarLines(seed: number, kind: DriveClass): LinedDrive {
  const drive = recordDrive(drawRecipe(seed, kind));
  const files = filesOf(drive);
  const zeroS = Number(/\((\d+)/.exec(files["bus.slcan"])?.[1]);
  const stamped = (text: string, stream: DeviceLine["stream"], end: string): DeviceLine[] =>
    Array.from(text.matchAll(/\((\d+)\.(\d{6})\) ([^\r\n]*)/g), ([, seconds, micros, rest]) => ({
      stream,
      arrivalNs: ((Number(seconds) - zeroS) * 1e6 + Number(micros)) * 1e3,
      text: rest + end,
    }));
  const lines = [...stamped(files["receiver.nmea"], "gnss", "\r\n"), ...stamped(files["bus.slcan"], "can", "\r")];
  return {
    known: knownOf(drive, false),
    signalFile: files["car.dbc"],
    lines: lines.sort((a, b) => a.arrivalNs - b.arrivalNs),
    without: (tracks) => tracks,
  };
}
