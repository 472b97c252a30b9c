/**
 * Starts an SLCAN adapter in listen-only mode: C, bit rate, stamps, L. Before that, this opening is listened to, and nothing is written if
 * another device sends there. An adapter that refuses L is closed again and not used. One that refuses the bit rate or never answers is
 * reported. An adapter that answers no command but sends valid frames is used: some send neither answers nor errors, and only the commands
 * above are written.
 */
import { FrameBatch } from "../../../shared/frames/frame-batch.ts";
import { bitrateCommand, type ListenOnlyCommand } from "../../../shared/frames/slcan-commands.ts";
import { createSlcanParser } from "../../../shared/frames/slcan-parser.ts";
import type { SlcanSource } from "../../../shared/setup/set-up.ts";
import type { Clock } from "../../ports/clock.ts";
import { type Answer, createAdapterAnswers } from "./adapter-answers.ts";
import type { DeviceTalk, Refusal } from "../sources/device-talk.ts";
import { adapterRefusals } from "./adapter-refusals.ts";
import { createFirstEar } from "./first-ear.ts";
import type { AdapterLine } from "./serial-line.ts";

/**
 * Adapters answer within a few ms, over Bluetooth within some hundred. Taking a late answer for that of the next command would be worse
 * than waiting.
 */
const ANSWER_MS = 3000;
/** For an adapter that never answers. */
const MUTE_MS = 400;
/** This many whole frames do not occur by chance in garbage. */
const SCOUTED_FRAMES = 10;

/** What earlier openings of the same port showed. It never shortens the listening before the first byte is written. */
export interface PortKnowledge {
  /** It answers no command but sends frames. */
  mute: boolean;
}

export interface AdapterTalk extends DeviceTalk<AdapterLine> {
  /** `bitrate` is used in place of the source's. */
  begin(line: AdapterLine, signal: AbortSignal, bitrate?: number): Promise<Refusal | null>;
}

type TalkSource = Pick<SlcanSource, "port" | "baud" | "bitrate" | "adapterClock">;
type MonotonicClock = Pick<Clock, "monotonicNs">;

export const createAdapterTalk = (source: TalkSource, clock: MonotonicClock, known: PortKnowledge): AdapterTalk =>
  new SlcanTalk(source, clock, known);

class SlcanTalk implements AdapterTalk {
  readonly #source: TalkSource;
  readonly #clock: MonotonicClock;
  readonly #known: PortKnowledge;
  readonly #refused: ReturnType<typeof adapterRefusals>;
  readonly #ear: ReturnType<typeof createFirstEar>;
  readonly #answers = createAdapterAnswers();
  readonly #parser = createSlcanParser();
  readonly #batch = new FrameBatch();
  /** Whether this opening was listened to and may be written to. */
  #mayWrite = false;
  /** True after L was sent, until the next C. */
  #mayBeOpen = false;
  #mute = false;
  #opening = false;
  #openedNs = 0;
  /** When a refusal came that nobody waited for, ns; null before the first. */
  #refusedNs: number | null = null;
  #listening = false;
  #bytes = 0;

  constructor(source: TalkSource, clock: MonotonicClock, known: PortKnowledge) {
    this.#source = source;
    this.#clock = clock;
    this.#known = known;
    this.#refused = adapterRefusals(source);
    this.#ear = createFirstEar(clock);
  }

  async begin(line: AdapterLine, signal: AbortSignal, bitrate = this.#source.bitrate): Promise<Refusal | null> {
    this.#listening = false;
    this.#refusedNs = null;
    if (!this.#mayWrite) {
      const refusal = await this.#firstWords(line, signal, bitrate);
      if (refusal !== null) return refusal;
    }
    const refusal = await this.#open(line, signal, bitrate);
    this.#known.mute = this.#mute;
    return refusal;
  }

  hear(chunk: Uint8Array, arrivalNs: number): Uint8Array | null {
    this.#bytes += chunk.length;
    const data = this.#hearAnswer(chunk, arrivalNs);
    if (data.length === 0) return null;
    const before = this.#parser.counts.refusals;
    this.#parser.push(data, arrivalNs, this.#batch);
    this.#batch.clear();
    if (this.#parser.counts.refusals > before) this.#refusedNs = arrivalNs;
    return data;
  }

  async check(line: AdapterLine, signal: AbortSignal): ReturnType<AdapterTalk["check"]> {
    if (this.#mute) return "unsure";
    const status = await this.#answers.ask(line, "F", ANSWER_MS, signal);
    // Refused: its channel is closed, or it does not know the command.
    return status === "silent" ? "dead" : status === "refused" ? "unsure" : "alive";
  }

  async end(line: AdapterLine): Promise<void> {
    this.#listening = false;
    if (!this.#mayBeOpen || this.#ear.isReceiver) return;
    this.#mayBeOpen = false;
    await line.send("C");
  }

  get caution(): string | null {
    return this.#mute && this.#listening
      ? "the adapter answers no command, so that it only listens is not confirmed: set it to listen-only by its own means"
      : null;
  }

  get refusal(): Refusal | null {
    // A refusal much later is a damaged byte, unless the adapter never answered anything.
    const counts = this.#refusedNs !== null && (this.#mute || this.#refusedNs - this.#openedNs < ANSWER_MS * 1e6);
    return counts ? this.#refused.notOpen("refused a command late") : null;
  }

  get counts(): AdapterTalk["counts"] {
    return { bytes: this.#bytes, valid: this.#ear.frames + this.#parser.counts.frames };
  }

  /** Listens first, then sends the first command. Null when the adapter may be opened. */
  async #firstWords(line: AdapterLine, signal: AbortSignal, bitrate: number): Promise<Refusal | null> {
    const voice = await this.#ear.listen(signal);
    if (voice === "receiver") return this.#refused.receiver();
    if (voice === "something else") return this.#refused.wrongBaud();
    this.#mayWrite = true;
    // Ends a half command that an earlier program left behind. The letter is no hex digit, so it cannot complete a frame. On an open
    // channel it is refused.
    const first = await this.#answers.ask(line, bitrateCommand(bitrate), ANSWER_MS, signal);
    this.#mute = first === "silent" && (this.#known.mute || this.#ear.frames >= SCOUTED_FRAMES);
    if (this.#ear.isReceiver) return this.#refused.receiver();
    return first === "silent" && !this.#mute ? this.#refused.noAnswer() : null;
  }

  async #open(line: AdapterLine, signal: AbortSignal, bitrate: number): Promise<Refusal | null> {
    const wasMute = this.#mute;
    const patienceMs = wasMute ? MUTE_MS : ANSWER_MS;
    const ask = (command: ListenOnlyCommand) => this.#ask(line, command, patienceMs, signal);
    const closed = await ask("C");
    const rate = await ask(bitrateCommand(bitrate));
    if (this.#ear.isReceiver) return this.#refused.receiver();
    if (rate === "refused") return this.#refused.bitrate(bitrate);
    const stamps = await ask(this.#source.adapterClock ? "Z1" : "Z0");
    // After a command without an answer, the next answers may belong to other commands.
    const inStep = [closed, rate, stamps].every((answer) => answer !== "silent");
    this.#opening = inStep;
    this.#mayBeOpen = true;
    const opened = await ask("L");
    this.#opening = false;
    this.#openedNs = this.#clock.monotonicNs();
    if (this.#ear.isReceiver) return this.#refused.receiver();
    // Only an open channel answers with its status.
    if (this.#mute || (opened === "ok" && !wasMute && (inStep || (await ask("F")) === "status"))) {
      this.#listening = true;
      return null;
    }
    await this.end(line);
    if (this.#ear.isReceiver) return this.#refused.receiver();
    return this.#refused.notOpen(opened === "refused" ? "refused to open listen-only" : "did not confirm that it only listens");
  }

  async #ask(line: AdapterLine, command: ListenOnlyCommand, patienceMs: number, signal: AbortSignal): Promise<Answer> {
    // When a receiver starts sending in the middle, nothing more is written.
    if (this.#ear.isReceiver) return "silent";
    const answer = await this.#answers.ask(line, command, patienceMs, signal);
    // An adapter that does answer, only later than expected, would shift every answer by one.
    if (answer !== "silent") this.#mute = false;
    return answer;
  }

  /** Bytes that arrive while a command waits for its answer: keeps those that belong to the recording. */
  #hearAnswer(chunk: Uint8Array, arrivalNs: number): Uint8Array {
    const { before, answer, after } = this.#answers.take(chunk);
    const kept = this.#listening ? before : before.subarray(0, 0);
    if (!this.#listening) this.#ear.push(before, arrivalNs);
    // begin() continues only after this call, but in this chunk the bytes after the answer to L are already bus data.
    if (answer === "ok" && this.#opening) this.#listening = true;
    if (answer === null || after.length === 0) return kept;
    const rest = this.#hearAnswer(after, arrivalNs);
    return kept.length === 0 ? rest : Buffer.concat([kept, rest]);
  }
}
