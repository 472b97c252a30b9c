/** What to do about a receiver that still sends once a second. Null where it is faster, or too little came to tell. */
import { median } from "../kernel/statistics.ts";
import { isOnceASecond, ONCE_A_SECOND } from "../receiver/once-a-second.ts";
import type { AlignedEpochs } from "./aligned-recording.ts";

export function slowReceiverNote({ tS }: AlignedEpochs): string | null {
  if (tS.length < 3) return null;
  const stepS = median(tS.subarray(1).map((t, i) => t - tS[i]));
  return isOnceASecond(1 / stepS) ? `The receiver sends once a second: ${ONCE_A_SECOND}.` : null;
}
