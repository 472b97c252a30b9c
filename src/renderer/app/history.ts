/**
 * Undo and redo: a list of requests that reverse each edit, newest first; going back gives the request to go forward. A new edit clears
 * what could be redone. A failed step stays in its list.
 */
import type { Edited } from "../../shared/contract/contract.ts";

type Way = Edited["undo"];

export interface Step {
  /** What was done, in the words of its notice. */
  readonly done: string;
  readonly way: Way;
  /** Corrects the parts of the request that must hold at the time of use: another window may have changed the rest. */
  readonly fit?: (argument: unknown) => unknown;
}

export interface HistoryOptions {
  /** Sends a request; answers with the request that reverses it. */
  request(way: Way): Promise<Edited>;
  /** `undone`: false where the edit was redone. */
  after(done: string, undone: boolean): Promise<void>;
}

export interface History {
  did(step: Step): void;
  undo(): Promise<void>;
  redo(): Promise<void>;
}

export function createHistory({ request, after }: HistoryOptions): History {
  const back: Step[] = [];
  const forward: Step[] = [];
  const go = async (from: Step[], to: Step[], undone: boolean) => {
    const step = from.pop();
    if (step === undefined) return;
    const { name, argument } = step.way;
    let opposite: Way;
    try {
      opposite = (await request({ name, argument: step.fit?.(argument) ?? argument })).undo;
    } catch (error) {
      from.push(step);
      throw error;
    }
    to.push({ ...step, way: opposite });
    await after(step.done, undone);
  };
  return {
    did(step) {
      back.push(step);
      forward.length = 0;
    },
    undo: () => go(back, forward, true),
    redo: () => go(forward, back, false),
  };
}
