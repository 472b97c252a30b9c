/**
 * Sends commands to an SLCAN adapter one at a time and removes each answer from the incoming bytes. An answer that nobody waits for is
 * treated like other bytes. Grammar: docs/check-values.md, SLCAN (CR accepted, BEL refused, `F` answers with its status).
 */
import { BEL, CR, LF } from "../../../shared/kernel/ascii.ts";
import type { ListenOnlyCommand } from "../../../shared/frames/slcan-commands.ts";
import type { AdapterLine } from "./serial-line.ts";
import { wait } from "../sources/wait.ts";

/** "status": `F` was answered with the status, which cannot be another command's answer. */
export type Answer = "ok" | "refused" | "status" | "silent";

const STATUS = 0x46;
/** F, two digits and the line's end. */
const STATUS_LENGTH = 4;

export interface AdapterAnswers {
  /** Sends and waits; "silent" after `patienceMs`. Rejects with the signal's reason, and when the port fails. */
  ask(line: AdapterLine, command: ListenOnlyCommand, patienceMs: number, signal: AbortSignal): Promise<Answer>;
  /** Removes the answer from a chunk; gives what came before it and after it. `before` is the whole chunk where there was none. */
  take(chunk: Uint8Array): { readonly before: Uint8Array; readonly answer: Exclude<Answer, "silent"> | null; readonly after: Uint8Array };
}

const NOTHING = new Uint8Array(0);
const LOOK_MS = 50;

/** Waits in looks: a process that stood still has waited for one look only, and reads what came meanwhile before it calls that silence. */
async function patience(patienceMs: number, signal: AbortSignal): Promise<Answer> {
  for (let waitedMs = 0; waitedMs < patienceMs && !signal.aborted; waitedMs += LOOK_MS)
    await wait(Math.min(LOOK_MS, patienceMs - waitedMs), signal);
  await new Promise<void>((resolve) => setImmediate(resolve));
  return "silent";
}

export function createAdapterAnswers(): AdapterAnswers {
  let heard: ((answer: Answer) => void) | null = null;
  let asked: ListenOnlyCommand | null = null;
  /** True where the bytes so far end a line: the next empty line is then an answer. */
  let atLineStart = true;
  /** The beginning of a status answer that came in pieces. */
  let begun: number[] = [];

  const answer = (given: Exclude<Answer, "silent">) => {
    heard?.(given);
    asked = null;
    return given;
  };

  return {
    async ask(line, command, patienceMs, signal) {
      const late = new AbortController();
      const answered = new Promise<Answer>((resolve) => {
        heard = resolve;
      });
      asked = command;
      begun = [];
      try {
        await line.send(command);
        const silent = patience(patienceMs, AbortSignal.any([signal, late.signal]));
        const given = await Promise.race([answered, silent]);
        signal.throwIfAborted();
        return given;
      } finally {
        late.abort();
        heard = null;
        asked = null;
      }
    },
    take(chunk) {
      for (let i = 0; asked !== null && i < chunk.length; i += 1) {
        const byte = chunk[i];
        if (begun.length > 0 || (asked === "F" && atLineStart && byte === STATUS)) {
          begun.push(byte);
          atLineStart = byte === CR;
          if (byte !== CR && begun.length < STATUS_LENGTH) continue;
          const before = chunk.subarray(0, Math.max(0, i + 1 - begun.length));
          begun = [];
          return { before, answer: answer("status"), after: chunk.subarray(i + 1) };
        }
        if (byte === BEL || (byte === CR && atLineStart)) {
          atLineStart = true;
          return { before: chunk.subarray(0, i), answer: answer(byte === BEL ? "refused" : "ok"), after: chunk.subarray(i + 1) };
        }
        atLineStart = byte === CR || byte === LF;
      }
      const last = chunk.at(-1);
      if (last !== undefined) atLineStart = last === CR || last === BEL || last === LF;
      // The beginning of a status answer at the end of the chunk does not belong to the recording.
      return { before: chunk.subarray(0, chunk.length - begun.length), answer: null, after: NOTHING };
    },
  };
}
