/**
 * Commands to an SLCAN adapter, one at a time, each with its own answer, which is taken out of the bytes that come. An answer that nobody waits for
 * is bytes like any other. Grammar: docs/check-values.md, SLCAN (CR taken, BEL refused, `F` answers with its status).
 */
import type { ListenOnlyCommand } from "../../../shared/frames/slcan-commands.ts";
import type { AdapterLine } from "./serial-line.ts";
import { wait } from "./wait.ts";

/** "status": `F` was answered by what it asks for, so that no other command's answer can be meant. */
export type Answer = "ok" | "refused" | "status" | "silent";

const CR = 13;
const LF = 10;
const BEL = 7;
const STATUS = 0x46;
/** F, two digits and the line's end. */
const STATUS_LENGTH = 4;

export interface AdapterAnswers {
  /** Sends and waits; "silent" after `patienceMs`. Rejects with the signal's reason, and where the port fails. */
  ask(line: AdapterLine, command: ListenOnlyCommand, patienceMs: number, signal: AbortSignal): Promise<Answer>;
  /** Takes the answer out of a chunk; gives what came before it and after it. `before` is all where none came. */
  take(chunk: Uint8Array): { readonly before: Uint8Array; readonly answer: Exclude<Answer, "silent"> | null; readonly after: Uint8Array };
}

const NOTHING = new Uint8Array(0);

export function createAdapterAnswers(): AdapterAnswers {
  let heard: ((answer: Answer) => void) | null = null;
  let asked: ListenOnlyCommand | null = null;
  /** True while the bytes so far end a line: an empty line is then an answer. */
  let atLineStart = true;
  /** A status answer that came in pieces. */
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
        const silent = wait(patienceMs, AbortSignal.any([signal, late.signal])).then((): Answer => "silent");
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
      // A begun status answer at the end of the chunk belongs to no recording.
      return { before: chunk.subarray(0, chunk.length - begun.length), answer: null, after: NOTHING };
    },
  };
}
