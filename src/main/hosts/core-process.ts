/**
 * Keeps the measuring process running and sends requests to it. When it dies, waiting requests fail with one line, the page is told, and
 * the process is started again within a second. Repeated deaths before "ready" make the wait longer, up to 5 s. A process that exits with 2
 * was given something it cannot use: its own line is shown and it is not started again. One that ends before it was ready, as where another
 * Gripbook has the book, is tried again, with its own line as the reason. One that stands still is ended (still-core.ts).
 */
import type { CoreEvent } from "../../shared/contract/contract.ts";
import { readFromCore, type ToCore } from "./core-messages.ts";
import { createEnding } from "./ending.ts";
import { createRevival } from "./revival.ts";
import { createStandingEvents } from "./standing-events.ts";
import type { SilenceWatch } from "./silence-watch.ts";
import { STILL_AFTER_S, watchStillCore } from "./still-core.ts";
import { createWaitingAnswers } from "./waiting-answers.ts";

/** One running child, however it was made (child_process.fork or utilityProcess). */
export interface CoreChild {
  /** Undefined where it could not be started. */
  readonly pid: number | undefined;
  send(message: ToCore): void;
  onMessage(listener: (message: unknown) => void): void;
  /** `lastLine`: the last line of its error output; empty when there is none. */
  onExit(listener: (code: number | null, lastLine: string) => void): void;
  kill(): void;
}

/** The connection to the core, direct or through other processes. */
export interface CoreLink {
  /** Answers, or rejects with the core's own line. Waits while the process starts. */
  request(name: string, argument: unknown): Promise<unknown>;
  /** Calls the listener at once with all present notices, then with every new event. */
  onEvent(listener: (event: CoreEvent) => void): () => void;
}

export interface CoreProcess extends CoreLink {
  /** Asks the process to close its recording and exit; kills it when it takes longer than graceMs. */
  close(): Promise<void>;
}

export interface CoreProcessOptions {
  readonly spawn: () => CoreChild;
  /** Called with what the page is told, for the log. */
  readonly report: (line: string) => void;
  readonly firstDelayMs?: number;
  readonly graceMs?: number;
  /** So long it may say nothing before it is looked at, seconds. */
  readonly stillAfterS?: number;
  /** The process is started once this resolves; requests wait. Absent: at once. */
  readonly after?: Promise<void>;
}

const NOTICE_KEY = "core";
const STILL_KEY = "core-still";
const BACK = "The measuring process had stopped and was started again. Arm again; what was recorded is in the book.";
/** The design's exit code for bad input or usage. */
const BAD_INPUT = 2;

/** `why`: its last line, where it could not start; empty otherwise. */
const deathLine = (code: number | null, why: string) =>
  why === ""
    ? `The measuring process stopped (${code === null ? "killed" : `code ${code}`}); it is being started again`
    : `Measuring does not start: ${why}. It is tried again`;

export function superviseCore({
  spawn,
  report,
  firstDelayMs = 200,
  graceMs = 120_000,
  stillAfterS = STILL_AFTER_S,
  after,
}: CoreProcessOptions): CoreProcess {
  const events = createStandingEvents();
  const waiting = createWaitingAnswers();
  const revival = createRevival(firstDelayMs);
  const ending = createEnding();
  const heldUntilReady: ToCore[] = [];
  let child: CoreChild | null = null;
  let watch: SilenceWatch | null = null;
  let ready = false;
  let everDied = false;
  let closing = false;
  /** Why no further start is tried; every page that connects later gets the same notice. */
  let givenUp: string | null = null;

  const notice = (text: string | null, key = NOTICE_KEY) => events.tell({ event: "notice", key, text });

  function watchOver({ pid, kill }: CoreChild): void {
    const tell = (text: string | null) => {
      if (text !== null) report(text);
      notice(text, STILL_KEY);
    };
    watch = watchStillCore({ pid, kill, tell, stillAfterS });
  }

  const onReady = () => {
    ready = true;
    if (child !== null && !closing) watchOver(child);
    revival.well();
    for (const message of heldUntilReady.splice(0)) child?.send(message);
    if (everDied) report(BACK);
    notice(everDied ? BACK : null);
  };

  const onMessage = (raw: unknown) => {
    const message = readFromCore(raw);
    watch?.heard();
    if (message === null) return report(`measuring process: a message of unknown shape: ${JSON.stringify(raw)?.slice(0, 120)}`);
    if (message.kind === "ready") return onReady();
    if (message.kind === "event") return events.tell(message.event);
    if (message.kind === "answer") waiting.settle(message);
  };

  const onExit = (code: number | null, lastLine: string) => {
    // What the dead process last reported about its sources may no longer be true.
    events.clear();
    watch?.stop();
    child = null;
    const started = ready;
    ready = false;
    heldUntilReady.length = 0;
    if (code === BAD_INPUT && !closing) givenUp = lastLine === "" ? "The measuring process was given something it cannot use" : lastLine;
    const line = givenUp ?? deathLine(code, started ? "" : lastLine);
    waiting.rejectAll(new Error(closing ? "Gripbook is closing" : line));
    if (closing) return ending.ended();
    if (givenUp !== null) {
      report(`${givenUp}; correct it and start again`);
      return notice(givenUp);
    }
    everDied ||= started;
    report(line);
    notice(started ? `${line}. What was recorded up to then is in the book.` : line);
    revival.again(start);
  };

  function start() {
    child = spawn();
    child.onMessage(onMessage);
    child.onExit(onExit);
  }

  if (after === undefined) start();
  else void after.then(() => closing || start());
  return {
    request(name, argument) {
      if (closing) return Promise.reject(new Error("Gripbook is closing"));
      if (givenUp !== null) return Promise.reject(new Error(givenUp));
      const { id, answer } = waiting.begin();
      const message: ToCore = { kind: "request", id, name, argument };
      if (ready && child !== null) child.send(message);
      else heldUntilReady.push(message);
      if (name === "drive.arm" && everDied) notice(null);
      return answer;
    },
    onEvent: events.onEvent,
    async close() {
      closing = true;
      revival.cancel();
      watch?.stop();
      const running = child;
      if (running !== null) await ending.within(graceMs, { ask: () => running.send({ kind: "close" }), kill: () => running.kill() });
    },
  };
}
