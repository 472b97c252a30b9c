/** Listens to a receiver. Nothing is ever written to it: its line has no way to write. Never fails. */
import { createNmeaScanner } from "../../../shared/receiver/nmea-sentence.ts";
import type { DeviceTalk } from "./device-talk.ts";
import type { SerialLine } from "./serial-line.ts";

export function createReceiverTalk(): DeviceTalk<SerialLine> {
  const scanner = createNmeaScanner();
  return {
    begin: async () => null,
    // It cannot be asked; opening its port anew costs nothing.
    check: async () => "dead",
    end: async () => undefined,
    hear(chunk, arrivalNs) {
      scanner.push(chunk, arrivalNs, () => undefined);
      return chunk;
    },
    caution: null,
    refusal: null,
    get counts() {
      return { bytes: scanner.counts.bytes, valid: scanner.counts.sentences };
    },
  };
}
