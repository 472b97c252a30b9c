/**
 * What stood half written in a box when a launch closed it. The next box of its kind opens with it, and after the launch one line says so. What
 * a person closed, sent or left as it was is no draft.
 */
import type { Question } from "../../screen/dialogs.ts";
import type { Frame } from "../../screen/page.ts";

type Asking = "drive.note" | "drive.label";
const NAMES: Readonly<Record<Asking, string>> = { "drive.note": "Note", "drive.label": "Label" };

export interface DriveDrafts {
  /** Asks as the frame does; the field has the draft, where there is one. */
  ask(action: Asking, question: Question): Promise<string | null>;
  /** The words for what was cut off and not told yet, once; null when there is nothing to tell. */
  untold(): string | null;
}

export function createDriveDrafts({ ask, keys }: Pick<Frame, "ask" | "keys">): DriveDrafts {
  const drafts = new Map<Asking, string>();
  let cutOff: Asking | null = null;
  return {
    ask(action, question) {
      const value = drafts.get(action) ?? question.value;
      drafts.delete(action);
      if (cutOff === action) cutOff = null;
      return ask({
        ...question,
        value,
        onCutOff(typed) {
          if (typed.trim() === "" || typed === question.value) return;
          drafts.set(action, typed);
          cutOff = action;
        },
      });
    },
    untold() {
      if (cutOff === null) return null;
      const [name, key] = [NAMES[cutOff], keys.shown(cutOff)];
      cutOff = null;
      return `${name} not finished: ${key === "" ? "it is kept" : `${key} goes on with it`}`;
    },
  };
}
