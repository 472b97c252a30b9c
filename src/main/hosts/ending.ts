/** Waits for a child that was asked to exit, and kills it when it takes too long. Never fails. */

export interface Ending {
  /** Resolves once `ended` was called. */
  within(graceMs: number, child: { ask(): void; kill(): void }): Promise<void>;
  ended(): void;
}

export function createEnding(): Ending {
  let ended: () => void = () => undefined;
  return {
    async within(graceMs, { ask, kill }) {
      const late = setTimeout(kill, graceMs);
      await new Promise<void>((resolve) => {
        ended = resolve;
        ask();
      });
      clearTimeout(late);
    },
    ended: () => ended(),
  };
}
