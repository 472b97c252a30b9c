/**
 * Parts what gpsd says itself (lines of JSON, gpsd's protocol documentation) from the receiver's sentences that it passes on. Chunks may end
 * anywhere. A line of JSON that is too long or no JSON is left out like any other. Bounded memory, never throws.
 */
import { CR, LF } from "../../../shared/kernel/ascii.ts";
import { parseJson } from "../../../shared/kernel/parse-json.ts";

const OPEN_BRACE = 0x7b;
/** A greeting or a list of devices takes some hundred bytes. */
const LONGEST_LINE = 8192;
const MOST_DEVICES = 20;

export interface GpsdWords {
  /** What of a chunk is not gpsd's own. */
  take(chunk: Uint8Array): Uint8Array;
  /** Its greeting has come. */
  readonly isGreeted: boolean;
  /** The receivers that it has, by their paths; null before it told them. */
  readonly devices: readonly string[] | null;
}

/** The paths in a DEVICES message. */
const pathsOf = (devices: unknown): string[] =>
  (Array.isArray(devices) ? devices.slice(0, MOST_DEVICES) : []).flatMap((device: { path?: unknown } | null) =>
    typeof device?.path === "string" ? [device.path.slice(0, 100)] : [],
  );

export function createGpsdWords(): GpsdWords {
  let isGreeted = false;
  let devices: readonly string[] | null = null;
  let atLineStart = true;
  let inWords = false;
  let line: number[] = [];

  function endLine(): void {
    inWords = false;
    if (line.length === LONGEST_LINE) return;
    try {
      const said = parseJson(Buffer.from(line).toString("utf8")) as { class?: unknown; devices?: unknown } | null;
      if (said?.class === "VERSION") isGreeted = true;
      if (said?.class === "DEVICES") devices = pathsOf(said.devices);
    } catch {
      // No JSON: not gpsd's, and no sentence either. Without a greeting nothing is written there.
    }
  }

  return {
    take(chunk) {
      const kept = Buffer.allocUnsafe(chunk.length);
      let length = 0;
      for (const byte of chunk) {
        if (atLineStart && byte === OPEN_BRACE) {
          inWords = true;
          line = [];
        }
        const isEnd = byte === CR || byte === LF;
        if (!inWords) {
          kept[length] = byte;
          length += 1;
        } else if (byte === LF) endLine();
        else if (!isEnd && line.length < LONGEST_LINE) line.push(byte);
        atLineStart = isEnd && !inWords;
      }
      return kept.subarray(0, length);
    },
    get isGreeted() {
      return isGreeted;
    },
    get devices() {
      return devices;
    },
  };
}
