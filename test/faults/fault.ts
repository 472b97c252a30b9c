/** One fault, tried many times: what was lost, what the person saw, and which promises were broken. */

export interface Tried {
  readonly times: number;
  /** Bytes that had been delivered and are not in the book; NaN where bytes are not counted. */
  readonly lostBytes: number;
  /** The largest loss of one try, ms of the bus; NaN where time is not counted. */
  readonly lostMs: number;
  /** What the person reads, in Gripbook's own words. */
  readonly seen: string;
  /** One line for each try that broke the promise; empty where none did. */
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
  /** The promise is in ms, and other tries beside it would take them: in the whole run nothing is tried beside it. */
  readonly alone: boolean;
  /** `timed`: times are checked too; not in `npm test`, where the machine may be busy with something else. */
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
