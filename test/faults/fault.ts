/** One way to go wrong, tried so and so often: what was lost, what the person saw, and what did not hold. */

export interface Tried {
  readonly times: number;
  /** Bytes that had been handed over and are not in the book; NaN where bytes are not what is counted. */
  readonly lostBytes: number;
  /** The most that one try lost, ms of the bus; NaN where time is not what is counted. */
  readonly lostMs: number;
  /** What the person reads, in Gripbook's own words. */
  readonly seen: string;
  /** One line for each try that did not hold; empty where all did. */
  readonly wrong: readonly string[];
}

export interface Fault {
  readonly name: string;
  /** What must hold. */
  readonly promise: string;
  /** Tries of the whole run, and of the short form in `npm test`. */
  readonly whole: number;
  readonly short: number;
  /** Why it cannot be tried on this machine; null where it can. */
  readonly whyNot: string | null;
  /** `timed`: times are held to their bounds as well; not in `npm test`, where something else may keep the machine busy. */
  run(times: number, timed: boolean): Promise<Tried>;
}

export const pause = (ms: number) => new Promise<void>((done) => setTimeout(done, ms));

/** Waits for something to come true; throws naming it after two minutes. */
export async function until(holds: () => boolean, what: string): Promise<void> {
  const endMs = performance.now() + 120_000;
  while (!holds()) {
    if (performance.now() > endMs) throw new Error(`Waited in vain: ${what}`);
    await pause(5);
  }
}

/** The last line of what a process said, for the table. */
export const lastLine = (text: string) => text.trim().split("\n").at(-1) ?? "";
