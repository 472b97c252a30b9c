/**
 * One print at a time, as each needs a browser of its own. A few others may wait; with more of them, and where nobody waits for the result
 * any more, it rejects.
 */
import type { PrintReport } from "./report-page.ts";

const MOST_WAITING = 4;

export function createPrintQueue(print: PrintReport): PrintReport {
  const waiting: (() => void)[] = [];
  let isPrinting = false;

  /** Resolves when it is this print's turn. */
  const turn = (signal: AbortSignal): Promise<void> =>
    new Promise((resolve, reject) => {
      const begin = () => {
        signal.removeEventListener("abort", leave);
        resolve();
      };
      const leave = () => {
        waiting.splice(waiting.indexOf(begin), 1);
        reject(signal.reason);
      };
      signal.addEventListener("abort", leave, { once: true });
      waiting.push(begin);
    });

  return async (html, format, signal) => {
    signal.throwIfAborted();
    if (waiting.length >= MOST_WAITING)
      throw new RangeError(`Printing: ${waiting.length + 1} reports are being printed already; save this one again when they are done`);
    if (isPrinting) await turn(signal);
    isPrinting = true;
    try {
      return await print(html, format, signal);
    } finally {
      const next = waiting.shift();
      if (next === undefined) isPrinting = false;
      else next();
    }
  };
}
