/** What the passenger's view shows for a moment: the seconds of a countdown, each with a sound, and the result of a key press. */
import type { Frame } from "../../screen/page.ts";

/** Long enough to look round once more. */
const COUNTDOWN_S = 5;
/** How long the answer to a key is shown in the lower line. */
const ANSWER_MS = 3000;
/** Nobody waits for what is told, so it stands longer; what comes next for the driver stands in the same place. */
const TOLD_MS = 8000;

const CORRECTION_MS = 15_000;

export interface Answer {
  readonly words: string;
  readonly isCorrection: boolean;
}

export interface DriveMoments {
  beginCountdown(): void;
  endCountdown(): void;
  /** Whole seconds left; the last one stands for one second, then null. */
  countdownS(nowMs: number): number | null;
  /** Plays the sound of a second that began since the last call. */
  count(nowMs: number): void;
  /** Shown to the passenger, and read to people who listen. */
  answer(words: string): void;
  /** The same for what nobody asked. */
  tell(words: string): void;
  /** The same for times that turned out otherwise, which stands longer, as nobody asked for it. Each has its part of the time: there is room for one. */
  correct(changes: readonly string[]): void;
  /** The last answer, while it is shown. */
  answered(nowMs: number): Answer | null;
}

/** `onChange`: the view must be written again. */
export function createDriveMoments({ announce, cues }: Pick<Frame, "announce" | "cues">, onChange: () => void): DriveMoments {
  let countdownToMs = Number.NEGATIVE_INFINITY;
  let counted: number | null = null;
  let last = { lines: [] as readonly string[], isCorrection: false, fromMs: 0, forMs: ANSWER_MS };
  const countdownS = (nowMs: number) => (nowMs < countdownToMs ? Math.ceil((countdownToMs - nowMs) / 1000) : null);
  function show(told: Omit<typeof last, "fromMs">): void {
    last = { ...told, fromMs: performance.now() };
    onChange();
    announce(told.lines.join("; "));
  }
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
    answer: (words) => show({ lines: [words], isCorrection: false, forMs: ANSWER_MS }),
    tell: (words) => show({ lines: [words], isCorrection: false, forMs: TOLD_MS }),
    correct: (changes) => show({ lines: changes, isCorrection: true, forMs: CORRECTION_MS }),
    answered(nowMs) {
      const words = last.lines[Math.floor(((nowMs - last.fromMs) / last.forMs) * last.lines.length)];
      return words === undefined ? null : { words, isCorrection: last.isCorrection };
    },
  };
}
