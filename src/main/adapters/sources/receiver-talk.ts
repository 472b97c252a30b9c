/** Listens to a receiver. Nothing is ever written to it: its line has no way to write. Never fails. */
import { createReceiverEar } from "../../../shared/receiver/receiver-bytes.ts";
import type { DeviceLine, DeviceTalk } from "./device-talk.ts";

export function createReceiverTalk(): DeviceTalk<DeviceLine> {
  const ear = createReceiverEar();
  return {
    begin: async () => null,
    // A receiver cannot be asked; opening its port again does no harm.
    check: async () => "dead",
    end: async () => undefined,
    hear(chunk) {
      ear.push(chunk);
      return chunk;
    },
    caution: null,
    refusal: null,
    get counts() {
      return { bytes: ear.counts.bytes, valid: ear.counts.sentences };
    },
  };
}
