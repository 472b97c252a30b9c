/**
 * Finds out what sends on a serial port, and at which baud, by listening only: its line has no way to write. Rejects with the system's
 * error where the port cannot be opened, and with the signal's reason.
 */
import { createReceiverEar } from "../../../shared/receiver/receiver-bytes.ts";
import { scoreTalk } from "../../../shared/wiring/baud-score.ts";
import type { Clock } from "../../ports/clock.ts";
import type { HeardPort, Listening } from "../../ports/set-up-desk.ts";
import { openSerialLine } from "./serial-line.ts";
import { wait } from "../sources/wait.ts";

/** Rates that receivers and adapters can be set to, the most usual first (common practice, no source). */
const BAUDS = [
  115200, 9600, 38400, 57600, 230400, 460800, 921600, 19200, 4800, 1_000_000, 14400, 28800, 76800, 500_000, 2_000_000,
] as const;
/** A receiver at 1 Hz sends something within this time. */
const LISTEN_MS = 1300;
/** Long enough for three sentences of a receiver that does send. */
const LISTEN_AGAIN_MS = 1100;
const MOST_BYTES = 64 * 1024;

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

/** A receiver that sends one sentence a second counts too: a right checksum is no chance. */
function sentencesIn(bytes: Uint8Array): number {
  const scanner = createReceiverEar();
  scanner.push(bytes);
  return scanner.counts.sentences;
}

/** Listens at `expected` first, then at the usual rates while the bytes that come cannot be read. */
export async function hearPort(path: string, expected: number | null, clock: Clock, { signal, onStep }: Listening): Promise<HeardPort> {
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
    if (talks !== "nmea" && sentencesIn(bytes) === 0) continue;
    const wrong = expected !== null && baud !== expected;
    return { trouble: wrong ? "wrongBaud" : null, words: `NMEA 0183 at ${baud} baud`, receiverBaud: baud, bytes: first };
  }
  const at = expected === null ? "any usual baud" : `${expected} baud, nor at any usual one`;
  return { trouble: "garbage", words: `something talks here, but not at ${at}`, receiverBaud: null, bytes: first };
}
