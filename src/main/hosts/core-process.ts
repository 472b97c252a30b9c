/**
 * Keeps the measuring process alive and carries requests to it. When it dies, waiting requests fail with one line,
 * the page is told, and it is started again within a second; repeated deaths before "ready" wait longer, up to 5 s.
 * A process that ends with 2 was given something it cannot use: its own line is shown and it is not started again.
 */
import type { CoreEvent } from "../../shared/contract/contract.ts";
import { readFromCore, type ToCore } from "./core-messages.ts";
import { createEnding } from "./ending.ts";
import { createRevival } from "./revival.ts";
import { createStandingEvents } from "./standing-events.ts";
import { createWaitingAnswers } from "./waiting-answers.ts";

/** One running child, whatever made it (child_process.fork or utilityProcess). */
export interface CoreChild {
  send(message: ToCore): void;
  onMessage(listener: (message: unknown) => void): void;
  /** `lastLine`: what it said last on its error output; empty when nothing. */
  onExit(listener: (code: number | null, lastLine: string) => void): void;
  kill(): void;
}

/** The way to the core, however long. */
export interface CoreLink {
  /** Answers, or rejects with the core's own line. Waits while the process starts. */
  request(name: string, argument: unknown): Promise<unknown>;
  /** Tells the notices that stand at once, then everything that comes. */
  onEvent(listener: (event: CoreEvent) => void): () => void;
}

export interface CoreProcess extends CoreLink {
  /** Asks the process to close its recording and end; kills it when it has not within graceMs. */
  close(): Promise<void>;
}

export interface CoreProcessOptions {
  readonly spawn: () => CoreChild;
  /** Told what the page is told, for the log. */
  readonly report: (line: string) => void;
  readonly firstDelayMs?: number;
  readonly graceMs?: number;
  /** The process is started once this resolves; requests wait. Absent: at once. */
  readonly after?: Promise<void>;
}

const NOTICE_KEY = "core";
const BACK = "The measuring process had stopped and was started again. Arm again; what was recorded is in the book.";
/** The design's exit code for bad input or usage. */
const BAD_INPUT = 2;

export function superviseCore({ spawn, report, firstDelayMs = 200, graceMs = 120_000, after }: CoreProcessOptions): CoreProcess {
  const events = createStandingEvents();
  const waiting = createWaitingAnswers();
  const revival = createRevival(firstDelayMs);
  const ending = createEnding();
  const heldUntilReady: ToCore[] = [];
  let child: CoreChild | null = null;
  let ready = false;
  let everDied = false;
  let closing = false;
  /** Why it was given up; the standing notice is repeated to every page that comes later. */
  let givenUp: string | null = null;

  const notice = (text: string | null) => events.tell({ event: "notice", key: NOTICE_KEY, text });

  const onReady = () => {
    ready = true;
    revival.well();
    for (const message of heldUntilReady.splice(0)) child?.send(message);
    if (!everDied) return;
    report(BACK);
    notice(BACK);
  };

  const onMessage = (raw: unknown) => {
    const message = readFromCore(raw);
    if (message === null) return report(`measuring process: a message of unknown shape: ${JSON.stringify(raw)?.slice(0, 120)}`);
    if (message.kind === "ready") return onReady();
    if (message.kind === "event") return events.tell(message.event);
    waiting.settle(message);
  };

  const onExit = (code: number | null, lastLine: string) => {
    // What the dead process last said of its sources is no longer known to hold.
    events.clear();
    child = null;
    ready = false;
    heldUntilReady.length = 0;
    if (code === BAD_INPUT && !closing) givenUp = lastLine === "" ? "The measuring process was given something it cannot use" : lastLine;
    const line = givenUp ?? `The measuring process stopped (${code === null ? "killed" : `code ${code}`}); it is being started again`;
    waiting.rejectAll(new Error(closing ? "Gripbook is closing" : line));
    if (closing) return ending.ended();
    if (givenUp !== null) {
      report(`${givenUp}; mend it and start again`);
      return notice(givenUp);
    }
    everDied = true;
    report(line);
    notice(`${line}. What was recorded up to then is in the book.`);
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
      const running = child;
      if (running !== null) await ending.within(graceMs, { ask: () => running.send({ kind: "close" }), kill: () => running.kill() });
    },
  };
}
