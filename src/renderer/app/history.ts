/** Undo and redo: every edit's way back, newest first; going back gives the way forward. A new edit ends what could be redone. A failed step stays where it was. */
import type { Edited } from "../../shared/contract/contract.ts";

type Way = Edited["undo"];

export interface HistoryOptions {
  /** Goes a way; answers the way back from there. */
  request(way: Way): Promise<Edited>;
  after(words: string): Promise<void>;
}

export interface History {
  did(way: Way): void;
  undo(): Promise<void>;
  redo(): Promise<void>;
}

export function createHistory({ request, after }: HistoryOptions): History {
  const back: Way[] = [];
  const forward: Way[] = [];
  const step = async (from: Way[], to: Way[], words: string) => {
    const way = from.pop();
    if (way === undefined) return;
    let opposite: Way;
    try {
      opposite = (await request(way)).undo;
    } catch (error) {
      from.push(way);
      throw error;
    }
    to.push(opposite);
    await after(words);
  };
  return {
    did(way) {
      back.push(way);
      forward.length = 0;
    },
    undo: () => step(back, forward, "Undone"),
    redo: () => step(forward, back, "Done again"),
  };
}
