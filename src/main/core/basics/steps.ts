/** The steps of long work: before each one waiting bytes are read, who listens is told how far it is, and work that was aborted ends. */
import type { Listening } from "../../ports/set-up-desk.ts";
import { breathe } from "./breathe.ts";

/** `share`: 0 to 1 of the whole. Rejects with the signal's reason where the work was aborted. */
export type Step = (words: string, share: number) => Promise<void>;

/** For work that nobody watches or cancels. */
export const quietly: Step = () => breathe();

export const stepsFor =
  ({ signal, onStep }: Listening): Step =>
  async (words, share) => {
    onStep(words, share);
    await breathe();
    signal.throwIfAborted();
  };
