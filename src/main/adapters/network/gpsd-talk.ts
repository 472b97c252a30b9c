/**
 * Asks a gpsd for its receiver's sentences as they come. Nothing is written before its greeting has come, and then one constant, the watch.
 * What gpsd says itself does not belong to the recording. Anybody else at that address is refused, with the reason.
 */
import { createReceiverEar } from "../../../shared/receiver/receiver-bytes.ts";
import type { DeviceTalk, Refusal } from "../sources/device-talk.ts";
import { wait } from "../sources/wait.ts";
import { createGpsdWords } from "./gpsd-words.ts";
import { createNetworkTalk } from "./network-talk.ts";
import type { GpsdLine } from "./tcp-line.ts";

/** It greets whoever connects at once. */
const GREETING_MS = 3000;
const LOOK_MS = 50;

export function createGpsdTalk(name: string, place: string): DeviceTalk<GpsdLine> {
  const words = createGpsdWords();
  const ear = createReceiverEar();
  let watches = false;
  const refused = (why: string): Refusal => ({ words: `Receiver: ${name} ${why}`, bitrate: false });
  const talk = createNetworkTalk(name, place, {
    caution: null,
    get refusal() {
      const { devices } = words;
      if (devices === null || devices.length === 1) return null;
      const paths = devices.join(", ");
      return devices.length === 0
        ? refused("has no receiver: plug it in, or tell gpsd its port").words
        : refused(`has ${devices.length} receivers (${paths}), and their sentences would mix: let it have one`).words;
    },
  });
  return {
    async begin(line, signal) {
      for (let waitedMs = 0; !words.isGreeted && waitedMs < GREETING_MS; waitedMs += LOOK_MS) {
        await wait(LOOK_MS, signal);
        signal.throwIfAborted();
        if (ear.counts.sentences > 0)
          return refused("sends sentences without gpsd\u2019s greeting: name it as sources.gnss.tcp in the set-up");
      }
      if (!words.isGreeted) return refused(`is no gpsd, its greeting did not come: correct ${place} in the set-up`);
      watches = true;
      await line.watch();
      return null;
    },
    hear(chunk, arrivalNs) {
      const data = words.take(chunk);
      if (watches) return data.length === 0 ? null : talk.hear(data, arrivalNs);
      ear.push(data);
      return null;
    },
    check: async () => "dead",
    end: async () => undefined,
    get counts() {
      return talk.counts;
    },
    caution: null,
    get refusal() {
      return talk.refusal;
    },
  };
}
