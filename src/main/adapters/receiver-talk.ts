/** Listens to a receiver. Nothing is ever written to it: this talk has no way to write. */
import type { DeviceTalk } from "./device-talk.ts";

const LF = 10;
/** "$", address, fields, "*" and two hex digits; real sentences end within 82 characters, some makers' own are longer. */
const SENTENCE = /\$([A-Z0-9]{3,}[^*$]*)\*([0-9A-Fa-f]{2})/;
const LONGEST_LINE = 512;

function isSentence(line: string): boolean {
  const match = SENTENCE.exec(line);
  if (match === null) return false;
  let sum = 0;
  for (const letter of match[1] as string) sum ^= letter.charCodeAt(0);
  return sum === Number.parseInt(match[2] as string, 16);
}

export function createReceiverTalk(): DeviceTalk {
  let bytes = 0;
  let valid = 0;
  let kept = "";
  return {
    begin: async () => null,
    end: async () => undefined,
    hear(chunk) {
      bytes += chunk.length;
      let from = 0;
      for (let at = chunk.indexOf(LF); at >= 0; at = chunk.indexOf(LF, from)) {
        if (isSentence(kept + Buffer.from(chunk.subarray(from, at)).toString("latin1"))) valid += 1;
        kept = "";
        from = at + 1;
      }
      kept = (kept + Buffer.from(chunk.subarray(from)).toString("latin1")).slice(-LONGEST_LINE);
      return chunk;
    },
    get counts() {
      return { bytes, valid };
    },
  };
}
