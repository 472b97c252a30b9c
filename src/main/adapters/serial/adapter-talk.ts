/**
 * Begins an SLCAN adapter in listen-only mode: C, bit rate, stamps, L, after this opening was listened to and nobody else talks there. An adapter
 * that refuses L is closed again and never listened to; one that refuses the bit rate or answers nothing is said so. One that answers no command at
 * all, yet sends valid frames, is listened to: some send neither answer nor error, and nothing but the above is written.
 */
import { FrameBatch } from "../../../shared/frames/frame-batch.ts";
import { bitrateCommand, type ListenOnlyCommand } from "../../../shared/frames/slcan-commands.ts";
import { createSlcanParser } from "../../../shared/frames/slcan-parser.ts";
import type { CanSource } from "../../../shared/setup/set-up.ts";
import type { Clock } from "../../ports/clock.ts";
import { type Answer, createAdapterAnswers } from "./adapter-answers.ts";
import type { DeviceTalk, Refusal } from "./device-talk.ts";
import { createFirstEar } from "./first-ear.ts";
import type { AdapterLine } from "./serial-line.ts";

/** Adapters answer within a few ms, a Bluetooth one within some hundred; an answer taken for the next command's would be worse than waiting. */
const ANSWER_MS = 3000;
/** Of one that answers nothing anyway. */
const MUTE_MS = 400;
/** So many whole frames are no chance among garbage. */
const SCOUTED_FRAMES = 10;

/** What earlier openings of the same port showed. It never shortens the listening. */
export interface PortKnowledge {
  /** It answers no command and sends frames all the same. */
  mute: boolean;
}

export interface AdapterTalk extends DeviceTalk<AdapterLine> {
  /** `bitrate` in place of the source's. */
  begin(line: AdapterLine, signal: AbortSignal, bitrate?: number): Promise<Refusal | null>;
}

export function createAdapterTalk(
  source: Pick<CanSource, "port" | "baud" | "bitrate" | "adapterClock">,
  clock: Pick<Clock, "monotonicNs">,
  known: PortKnowledge,
): AdapterTalk {
  const ear = createFirstEar(clock);
  const answers = createAdapterAnswers();
  const parser = createSlcanParser();
  const batch = new FrameBatch();
  /** Whether this opening was listened to and may be written to. */
  let spoken = false;
  /** L was sent, and no C since. */
  let mayBeOpen = false;
  let mute = false;
  let opening = false;
  let openedNs = 0;
  /** When a refusal came that nobody waited for, ns; null before. */
  let refusedNs: number | null = null;
  let listening = false;
  let bytes = 0;

  const refused = (words: string, bitrate = false): Refusal => ({ words: `CAN adapter on ${source.port}: ${words}`, bitrate });
  const receiverHere = () =>
    refused(
      "a receiver's NMEA sentences arrive there, so nothing is written to it: exchange sources.can.port and sources.gnss.port in the set-up",
    );
  const noAnswer = () =>
    refused("no answer: mend sources.can.port or sources.can.baud in the set-up (`ports` shows what talks), or plug it in again");
  const notOpen = (what: string) =>
    refused(`it ${what}, so its channel stays closed and nothing goes on the bus: use an adapter that knows the L command`);

  /** Who talks here; null when it may be written to. */
  async function stranger(signal: AbortSignal): Promise<Refusal | null> {
    const voice = await ear.listen(signal);
    if (voice === "receiver") return receiverHere();
    if (voice === "something else")
      return refused(
        `something talks there, but not at ${source.baud} baud, so nothing is written to it: mend sources.can.port or sources.can.baud in the set-up (\`ports\` shows what talks)`,
      );
    return null;
  }

  async function open(line: AdapterLine, signal: AbortSignal, bitrate: number): Promise<Refusal | null> {
    const patienceMs = mute ? MUTE_MS : ANSWER_MS;
    const ask = async (command: ListenOnlyCommand): Promise<Answer> => {
      // A receiver that spoke up in the middle hears nothing more.
      if (ear.isReceiver) return "silent";
      const answer = await answers.ask(line, command, patienceMs, signal);
      // One that does answer, only later than anybody waits, would shift every answer by one.
      if (answer !== "silent") mute = false;
      return answer;
    };
    const wasMute = mute;
    const closed = await ask("C");
    const rate = await ask(bitrateCommand(bitrate));
    if (ear.isReceiver) return receiverHere();
    if (rate === "refused") return refused(`it refused ${bitrate} bit/s: mend sources.can.bitrate in the set-up`, true);
    const stamps = await ask(source.adapterClock ? "Z1" : "Z0");
    // After a command that went without an answer, the next ones may not be whose they seem.
    const inStep = [closed, rate, stamps].every((answer) => answer !== "silent");
    opening = inStep;
    mayBeOpen = true;
    const opened = await ask("L");
    opening = false;
    openedNs = clock.monotonicNs();
    if (ear.isReceiver) return receiverHere();
    if (mute) {
      listening = true;
      return null;
    }
    // An open channel alone tells its status.
    if (opened === "ok" && !wasMute && (inStep || (await ask("F")) === "status")) {
      listening = true;
      return null;
    }
    await close(line);
    if (ear.isReceiver) return receiverHere();
    return notOpen(opened === "refused" ? "refused to open listen-only" : "did not confirm that it only listens");
  }

  async function close(line: AdapterLine): Promise<void> {
    listening = false;
    if (!mayBeOpen || ear.isReceiver) return;
    mayBeOpen = false;
    await line.send("C");
  }

  /** Bytes while a command waits for its answer: what belongs to the recording, if anything. */
  function hearAnswer(chunk: Uint8Array, arrivalNs: number): Uint8Array {
    const { before, answer, after } = answers.take(chunk);
    const kept = listening ? before : before.subarray(0, 0);
    if (!listening) ear.push(before, arrivalNs);
    // begin() goes on only after this call, yet what follows the answer to L in the same chunk is bus data already.
    if (answer === "ok" && opening) listening = true;
    if (answer === null || after.length === 0) return kept;
    const rest = hearAnswer(after, arrivalNs);
    return kept.length === 0 ? rest : Buffer.concat([kept, rest]);
  }

  return {
    async begin(line, signal, bitrate = source.bitrate) {
      listening = false;
      refusedNs = null;
      if (!spoken) {
        const other = await stranger(signal);
        if (other !== null) return other;
        spoken = true;
        // Ends whatever half command a program before us left behind: no hex digit begins it, so that it completes no frame. On an open channel it is refused.
        const first = await answers.ask(line, bitrateCommand(bitrate), ANSWER_MS, signal);
        mute = first === "silent" && (known.mute || ear.frames >= SCOUTED_FRAMES);
        if (ear.isReceiver) return receiverHere();
        if (first === "silent" && !mute) return noAnswer();
      }
      const refusal = await open(line, signal, bitrate);
      known.mute = mute;
      return refusal;
    },
    hear(chunk, arrivalNs) {
      bytes += chunk.length;
      const data = hearAnswer(chunk, arrivalNs);
      if (data.length === 0) return null;
      const before = parser.counts.refusals;
      parser.push(data, arrivalNs, batch);
      batch.clear();
      if (parser.counts.refusals > before) refusedNs = arrivalNs;
      return data;
    },
    async check(line, signal) {
      if (mute) return "unsure";
      const status = await answers.ask(line, "F", ANSWER_MS, signal);
      // Refused: its channel is closed, or it does not know the command.
      return status === "silent" ? "dead" : status === "refused" ? "unsure" : "alive";
    },
    end: close,
    get caution() {
      return mute && listening
        ? "the adapter answers no command, so that it only listens is not confirmed: set it to listen-only by its own means"
        : null;
    },
    get refusal() {
      // Much later it is a spoiled byte, unless the adapter never answered anything.
      return refusedNs !== null && (mute || refusedNs - openedNs < ANSWER_MS * 1e6) ? notOpen("refused a command late") : null;
    },
    get counts() {
      return { bytes, valid: ear.frames + parser.counts.frames };
    },
  };
}
