/**
 * Listens to a receiver over a network. Nothing is ever written to it. A sender that floods is refused: a serial line bounds what comes,
 * a network does not, and the journal would fill the disk. Never fails.
 */
import { NS_PER_S } from "../../../shared/kernel/units.ts";
import type { DeviceLine, DeviceTalk, Refusal } from "../sources/device-talk.ts";
import { createReceiverTalk } from "../sources/receiver-talk.ts";

/** About ten times a full serial line at 460,800 baud: room for what a network held back, and no receiver sends as much. */
const MOST_BYTES_A_SECOND = 512 * 1024;

interface Heard {
  /** What people must know although the receiver is used; null when nothing. */
  readonly caution: string | null;
  /** Why it is not used; null while it is. */
  readonly refusal: string | null;
}

/** `place`: where the set-up names it. */
export function createNetworkTalk(name: string, place: string, heard: Heard = { caution: null, refusal: null }): DeviceTalk<DeviceLine> {
  const talk = createReceiverTalk();
  let [sinceNs, bytes] = [0, 0];
  let flooded = false;
  const refused = (words: string): Refusal => ({ words, bitrate: false });
  return {
    begin: talk.begin,
    check: talk.check,
    end: talk.end,
    hear(chunk, arrivalNs) {
      if (arrivalNs - sinceNs > NS_PER_S) [sinceNs, bytes] = [arrivalNs, 0];
      bytes += chunk.length;
      flooded ||= bytes > MOST_BYTES_A_SECOND;
      return flooded ? null : talk.hear(chunk, arrivalNs);
    },
    get counts() {
      return talk.counts;
    },
    get caution() {
      return heard.caution;
    },
    get refusal() {
      if (flooded)
        return refused(
          `Receiver: ${name} sends over ${MOST_BYTES_A_SECOND / 1024} kB a second, as no receiver does: correct ${place} in the set-up`,
        );
      return heard.refusal === null ? null : refused(heard.refusal);
    },
  };
}
