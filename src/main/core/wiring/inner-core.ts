/**
 * The core of one set-up: closed for each change and opened anew afterwards, also where the change failed. One change at a time; none
 * while a launch runs.
 */
import type { Stream } from "../../ports/book.ts";
import type { HeardPort } from "../../ports/set-up-desk.ts";
import type { Core } from "../core.ts";
import { lineOf } from "../basics/failure.ts";

const LAUNCH_RUNS = "a launch is running; change the set-up when it is over";

export interface InnerCore {
  now(): Core;
  /** Makes it anew, without starting it. */
  open(): void;
  /** Until it was started or claimed. */
  isNew(): boolean;
  /** Whoever claims it starts it later. */
  claim(): void;
  start(): void;
  /** One change at a time, in the order asked. */
  inTurn<T>(work: () => Promise<T>): Promise<T>;
  /** Does the work with ports and recording closed, then opens the core anew, also where the work failed. To be called in turn. */
  reopened<T>(work: () => Promise<T>): Promise<T>;
  /** Closes it once the changes that wait are made. */
  close(): Promise<void>;
}

export function createInnerCore({
  make,
  isLaunched,
  heard,
  notice,
  onClosing,
  onOpened,
}: {
  readonly make: () => Core;
  readonly isLaunched: () => boolean;
  /** What is known of the ports; put back where a change fails. */
  readonly heard: Map<Stream, HeardPort>;
  readonly notice: (key: string, text: string | null) => void;
  readonly onClosing: () => void;
  /** The core that a change opened has been started. */
  readonly onOpened: (core: Core) => void;
}): InnerCore {
  let core: Core = make();
  let started = false;
  let turn: Promise<unknown> = Promise.resolve();

  function open(): void {
    core = make();
  }

  function start(): void {
    started = true;
    core.start();
  }

  function inTurn<T>(work: () => Promise<T>): Promise<T> {
    const done = turn.then(work);
    turn = done.catch(() => undefined);
    return done;
  }

  async function reopened<T>(work: () => Promise<T>): Promise<T> {
    if (isLaunched()) throw new RangeError(LAUNCH_RUNS);
    const before = new Map(heard);
    onClosing();
    try {
      await core.close();
    } catch (error) {
      // The bytes are in the journal; the set-up must not depend on an error in deriving them.
      notice("book", lineOf(error));
    }
    try {
      return await work();
    } catch (error) {
      // What was known of the ports before stays known: a change that failed or was cancelled changes nothing.
      heard.clear();
      for (const [stream, port] of before) heard.set(stream, port);
      throw error;
    } finally {
      open();
      start();
      onOpened(core);
    }
  }

  return {
    now: () => core,
    open,
    isNew: () => !started,
    claim() {
      started = true;
    },
    start,
    inTurn,
    reopened,
    async close() {
      await turn;
      await core.close();
    },
  };
}
