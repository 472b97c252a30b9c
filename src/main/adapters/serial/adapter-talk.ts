/**
 * Begins an SLCAN adapter in listen-only mode: C, bit rate, stamps, L. Every byte to be written passes the guard. An adapter that
 * refuses L is closed again and never listened to; one that refuses the bit rate or answers nothing is said so. One that answers
 * no command at all, yet sends valid frames, is listened to: some send neither answer nor error, and nothing but the above is written.
 */
import { FrameBatch } from "../../../shared/frames/frame-batch.ts";
import { createNmeaScanner } from "../../../shared/receiver/nmea-sentence.ts";
import { assertListenOnly, bitrateCommand, SLCAN_COMMANDS } from "../../../shared/frames/slcan-commands.ts";
import { createSlcanParser } from "../../../shared/frames/slcan-parser.ts";
import type { CanSource } from "../../../shared/setup/set-up.ts";
import type { DeviceTalk } from "./device-talk.ts";
import type { SerialLine } from "./serial-line.ts";

/** Adapters answer within a few ms; a slow Bluetooth one within some hundred. */
const ANSWER_MS = 600;
/** A receiver says something each second. */
const LISTEN_FIRST_MS = 1200;
/** So many whole frames are no chance among garbage. */
const SCOUTED_FRAMES = 10;
/** Adapters that were left open go on sending until C is handled. */
const SETTLE_MS = 60;
const CR = 13;
const BEL = 7;

type Answer = "ok" | "refused" | "silent";

const wait = (ms: number) => new Promise((done) => setTimeout(done, ms));

async function send(line: SerialLine, command: Uint8Array): Promise<void> {
  assertListenOnly(command);
  await line.write(String.fromCharCode(...command));
}

/** What earlier openings of the same port showed: a known adapter need not be listened to first. */
export interface PortKnowledge {
  adapter: boolean;
}

export function createAdapterTalk(
  source: Pick<CanSource, "port" | "bitrate" | "adapterClock">,
  known: PortKnowledge = { adapter: true },
): DeviceTalk {
  /** Hears whether it is a receiver that sits here: then not one byte may be written. */
  const receiver = createNmeaScanner();
  const parser = createSlcanParser();
  /** Hears frames while nothing is recorded yet: a device that sends some is an adapter, whether it answers or not. */
  const scout = createSlcanParser();
  const batch = new FrameBatch();
  let caution: string | null = null;
  /** Whether anything was written: a port that turned out to be a receiver's is left without a byte. */
  let spoken = false;
  let listening = false;
  let opening = false;
  let heard: ((answer: Answer) => void) | null = null;
  /** True while the bytes so far end a line: an empty line is then an answer. */
  let atLineStart = true;
  let bytes = 0;

  function ask(line: SerialLine, command: Uint8Array): Promise<Answer> {
    return new Promise((resolve, reject) => {
      const late = setTimeout(() => answer("silent"), ANSWER_MS);
      const answer = (given: Answer) => {
        clearTimeout(late);
        heard = null;
        resolve(given);
      };
      heard = answer;
      send(line, command).catch(reject);
    });
  }

  /** Listens for answers; gives where bus data begins once listening was confirmed, or -1. */
  function findAnswers(chunk: Uint8Array): number {
    for (let i = 0; i < chunk.length; i += 1) {
      const byte = chunk[i];
      if (byte === BEL || (byte === CR && atLineStart)) {
        heard?.(byte === BEL ? "refused" : "ok");
        // begin() goes on only after this call, yet what follows the answer to L in the same chunk is bus data already.
        if (opening && byte === CR) {
          listening = true;
          return i + 1;
        }
      }
      atLineStart = byte === CR || byte === BEL;
    }
    return -1;
  }

  return {
    async begin(line) {
      if (!known.adapter) await wait(LISTEN_FIRST_MS);
      if (receiver.counts.sentences > 0)
        return `CAN adapter on ${source.port}: a receiver's NMEA sentences arrive there, so nothing was written: exchange sources.can.port and sources.gnss.port in the set-up`;
      spoken = true;
      // Twice: the first ends whatever half command a program before us left behind.
      await send(line, SLCAN_COMMANDS.close);
      await wait(SETTLE_MS);
      const closed = await ask(line, SLCAN_COMMANDS.close);
      await wait(SETTLE_MS);
      const rate = await ask(line, bitrateCommand(source.bitrate));
      if (rate === "refused")
        return `CAN adapter on ${source.port}: it refused ${source.bitrate} bit/s: mend sources.can.bitrate in the set-up`;
      const mute = closed === "silent" && rate === "silent" && scout.counts.frames >= SCOUTED_FRAMES;
      if (rate === "silent" && !mute)
        return `CAN adapter on ${source.port}: no answer: mend sources.can.port or sources.can.baud in the set-up (\`ports\` shows what talks), or plug it in again`;
      await ask(line, source.adapterClock ? SLCAN_COMMANDS.stampsOn : SLCAN_COMMANDS.stampsOff);
      opening = true;
      const open = await ask(line, SLCAN_COMMANDS.openListenOnly);
      opening = false;
      if (open === "ok") {
        known.adapter = true;
        return null;
      }
      if (mute && open === "silent") {
        listening = true;
        caution = "the adapter answers no command, so that it only listens is not confirmed: set it to listen-only by its own means";
        return null;
      }
      await send(line, SLCAN_COMMANDS.close);
      const what = open === "refused" ? "refused to open listen-only" : "did not confirm that it only listens";
      return `CAN adapter on ${source.port}: it ${what}, so its channel stays closed and nothing goes on the bus: use an adapter that knows the L command`;
    },
    hear(chunk, arrivalNs) {
      bytes += chunk.length;
      let data = chunk;
      if (!listening) {
        const from = findAnswers(chunk);
        if (from < 0) {
          scout.push(chunk, arrivalNs, batch);
          batch.clear();
          receiver.push(chunk, arrivalNs, () => undefined);
          return null;
        }
        data = chunk.subarray(from);
      }
      parser.push(data, arrivalNs, batch);
      batch.clear();
      return data.length > 0 ? data : null;
    },
    async end(line) {
      listening = false;
      if (spoken) await send(line, SLCAN_COMMANDS.close);
    },
    get caution() {
      return caution;
    },
    get counts() {
      return { bytes, valid: scout.counts.frames + parser.counts.frames };
    },
  };
}
