/** Listens to a receiver. Nothing is ever written to it: this talk has no way to write. Never fails. */
import { createNmeaScanner } from "../../../shared/receiver/nmea-sentence.ts";
import type { DeviceTalk } from "./device-talk.ts";

export function createReceiverTalk(): DeviceTalk {
  const scanner = createNmeaScanner();
  return {
    begin: async () => null,
    end: async () => undefined,
    hear(chunk, arrivalNs) {
      scanner.push(chunk, arrivalNs, () => undefined);
      return chunk;
    },
    caution: null,
    get counts() {
      return { bytes: scanner.counts.bytes, valid: scanner.counts.sentences };
    },
  };
}
