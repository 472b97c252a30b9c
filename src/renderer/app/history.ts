/** Undo and redo: every edit's way back, newest first; going back gives the way forward. A new edit ends what could be redone. A failed step stays where it was. */
import type { Edited } from "../../shared/contract/contract.ts";

type Way = Edited["undo"];

export interface Step {
  /** What was done, as its notice said it. */
  readonly done: string;
  readonly way: Way;
  /** What of the way holds only at the time it is gone: another window may have changed the rest. */
  readonly fit?: (argument: unknown) => unknown;
}

export interface HistoryOptions {
  /** Goes a way; answers the way back from there. */
  request(way: Way): Promise<Edited>;
  /** `undone`: false where it was done again. */
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
