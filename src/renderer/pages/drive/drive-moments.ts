/** What stands on the passenger's view for a moment: the seconds of a countdown, each heard, and what a key did, or why it did nothing. */
import type { Frame } from "../../screen/page.ts";

/** Long enough to look round once more. */
const COUNTDOWN_S = 5;
/** How long the answer to a key stands in the foot line. */
const ANSWER_MS = 3000;

export interface DriveMoments {
  beginCountdown(): void;
  endCountdown(): void;
  /** Whole seconds left; the last one stands for one second, then null. */
  countdownS(nowMs: number): number | null;
  /** Lets a second that began since the last call be heard. */
  count(nowMs: number): void;
  /** Where the passenger looks, and to who listens. */
  answer(words: string): void;
  /** What was answered, while it stands. */
  answered(nowMs: number): string | null;
}

/** `onChange`: the words of the view are to be said anew. */
export function createDriveMoments({ announce, cues }: Pick<Frame, "announce" | "cues">, onChange: () => void): DriveMoments {
  let countdownToMs = Number.NEGATIVE_INFINITY;
  let counted: number | null = null;
  let last = { words: "", untilMs: Number.NEGATIVE_INFINITY };
  const countdownS = (nowMs: number) => (nowMs < countdownToMs ? Math.ceil((countdownToMs - nowMs) / 1000) : null);
  return {
    beginCountdown() {
      countdownToMs = performance.now() + COUNTDOWN_S * 1000;
    },
    endCountdown() {
      countdownToMs = Number.NEGATIVE_INFINITY;
    },
    countdownS,
    count(nowMs) {
      const left = countdownS(nowMs);
      if (left === counted) return;
      counted = left;
      onChange();
      if (left !== null) cues.play("count");
    },
    answer(words) {
      last = { words, untilMs: performance.now() + ANSWER_MS };
      onChange();
      announce(words);
    },
    answered: (nowMs) => (nowMs < last.untilMs ? last.words : null),
  };
}
