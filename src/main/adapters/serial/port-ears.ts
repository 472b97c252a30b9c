/**
 * Listens on serial ports to find out what talks there and at which baud; nothing is written, except an adapter's listen-only commands
 * while its bit rate is looked for. A port that cannot be opened says why instead of throwing.
 */
import { FrameBatch } from "../../../shared/frames/frame-batch.ts";
import { createSlcanParser } from "../../../shared/frames/slcan-parser.ts";
import { lineOfPort } from "../../../shared/contract/port-line.ts";
import { scoreTalk } from "../../../shared/wiring/baud-score.ts";
import type { CanSource } from "../../../shared/setup/set-up.ts";
import type { Clock } from "../../ports/clock.ts";
import type { HeardPort, Listening, PortEars } from "../../ports/set-up-desk.ts";
import { createAdapterTalk } from "./adapter-talk.ts";
import { listPorts } from "./list-ports.ts";
import { portTrouble } from "./port-trouble.ts";
import { openSerialLine } from "./serial-line.ts";
import { wait } from "./wait.ts";

/** Receivers' usual rates, the most usual first (common practice, no source). */
const BAUDS = [115200, 9600, 38400, 57600, 230400, 460800, 4800] as const;
/** Usual bus bit rates, the most usual first (common practice, no source). */
const BITRATES = [500_000, 250_000, 1_000_000, 125_000, 800_000, 100_000, 50_000, 20_000, 10_000] as const;
/** A receiver at 1 Hz speaks within it. */
const LISTEN_MS = 1300;
/** Long enough for three sentences of a receiver that does speak. */
const LISTEN_AGAIN_MS = 1100;
const BITRATE_MS = 900;
const MOST_BYTES = 64 * 1024;
const LEAST_FRAMES = 3;

async function collect(path: string, baud: number, clock: Clock, ms: number, signal: AbortSignal): Promise<Uint8Array> {
  const chunks: Uint8Array[] = [];
  let length = 0;
  const line = await openSerialLine({
    path,
    baud,
    clock,
    onBytes: (bytes) => {
      if (length > MOST_BYTES) return;
      chunks.push(bytes);
      length += bytes.length;
    },
    onClose: () => undefined,
  });
  await wait(ms, signal);
  await line.close();
  signal.throwIfAborted();
  return Buffer.concat(chunks);
}

export function createPortEars(clock: Clock): PortEars {
  async function listen(path: string, expected: number | null, { signal, onStep }: Listening): Promise<HeardPort> {
    const order = [...new Set([...(expected === null ? [] : [expected]), ...BAUDS])];
    let first = 0;
    for (const [i, baud] of order.entries()) {
      signal.throwIfAborted();
      onStep(`Listening on ${path} at ${baud} baud`, i / order.length);
      const bytes = await collect(path, baud, clock, i === 0 ? LISTEN_MS : LISTEN_AGAIN_MS, signal);
      if (i === 0) first = bytes.length;
      if (i === 0 && bytes.length === 0) return { trouble: "silent", words: "no byte came", receiverBaud: null, bytes: 0 };
      const { talks } = scoreTalk(bytes);
      if (talks === "slcan") return { trouble: "adapterHere", words: `bus frames at ${baud} baud`, receiverBaud: null, bytes: first };
      if (talks !== "nmea") continue;
      const wrong = expected !== null && baud !== expected;
      return { trouble: wrong ? "wrongBaud" : null, words: `NMEA 0183 at ${baud} baud`, receiverBaud: baud, bytes: first };
    }
    return { trouble: "garbage", words: `${first} bytes came, none valid at any usual baud`, receiverBaud: null, bytes: first };
  }

  const hear = async (path: string, expected: number | null, listening: Listening): Promise<HeardPort> => {
    try {
      return await listen(path, expected, listening);
    } catch (error) {
      listening.signal.throwIfAborted();
      return { trouble: "trouble", words: portTrouble({ whose: "Port", path, place: "the port" }, error), receiverBaud: null, bytes: 0 };
    }
  };

  async function framesAt(source: CanSource, bitrate: number, signal: AbortSignal): Promise<number> {
    const talk = createAdapterTalk({ ...source, bitrate });
    const parser = createSlcanParser();
    const batch = new FrameBatch();
    const line = await openSerialLine({
      path: source.port,
      baud: source.baud,
      clock,
      onBytes: (bytes, arrivalNs) => {
        const data = talk.hear(bytes, arrivalNs);
        if (data === null) return;
        parser.push(data, arrivalNs, batch);
        batch.clear();
      },
      onClose: () => undefined,
    });
    try {
      if ((await talk.begin(line)) !== null) return 0;
      await wait(BITRATE_MS, signal);
      // Cancelled or not, an adapter that was opened is closed.
      await talk.end(line);
      return parser.counts.frames;
    } finally {
      await line.close();
    }
  }

  return {
    hear,
    async list(more, held, listening) {
      const found = await listPorts({ clock, more, held, listening });
      return found.map((port) => ({
        ...port,
        receiverBaud: Number(/^NMEA 0183 at (\d+) baud/.exec(port.talks)?.[1] ?? Number.NaN) || null,
        line: lineOfPort(port.path, port.description),
      }));
    },
    async findBitrate(source, { signal, onStep }) {
      for (const [i, bitrate] of BITRATES.entries()) {
        signal.throwIfAborted();
        onStep(`Listening to the bus at ${bitrate / 1000} kbit/s`, i / BITRATES.length);
        if ((await framesAt(source, bitrate, signal)) >= LEAST_FRAMES) return bitrate;
      }
      signal.throwIfAborted();
      return null;
    },
  };
}
