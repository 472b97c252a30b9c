/** Words that say whether a source can be trusted now, from what arrived recently. A silent source is never called fresh. */
import { NS_PER_S } from "../kernel/units.ts";
import type { SourceHealth } from "./live-view.ts";

/** A source is silent after three of its periods, but not before 0.3 s (a USB burst may take that long). */
const LEAST_STALE_S = 0.3;
const RATE_OVER_S = 2;
/** This many bytes without a single valid line are garbage, not chance. */
export const GARBAGE_BYTES = 400;

export interface LiveHealth {
  /** Bytes came in, valid or not. */
  bytes(count: number, atNs: number): void;
  /** Something valid came in: an epoch, a frame. */
  valid(count: number, atNs: number): void;
  /** `detail` is shown after the rate, such as "3D fix, 14 satellites"; `worry` replaces freshness, such as "no fix". */
  at(nowNs: number, detail: string, worry: string | null): SourceHealth;
  staleS(): number;
  /** How many valid ones come in a second; 0 while that is not known. */
  perSecond(): number;
}

/** `unit` names what is counted: "Hz" for epochs, "frames/s". */
export function createLiveHealth({
  present,
  unit,
  remedy,
}: {
  readonly present: boolean;
  readonly unit: string;
  readonly remedy: string;
}): LiveHealth {
  let lastBytesNs = Number.NaN;
  let lastValidNs = Number.NaN;
  let garbageBytes = 0;
  let times: { atNs: number; count: number }[] = [];
  /** Of all counts in `times`: a bus gives thousands in that span, too many to add up at each. */
  let heard = 0;
  let perSecond = 0;

  const staleS = () => Math.max(LEAST_STALE_S, perSecond > 0 ? 3 / perSecond : 0);

  return {
    staleS,
    perSecond: () => perSecond,
    bytes(count, atNs) {
      lastBytesNs = atNs;
      garbageBytes += count;
    },
    valid(count, atNs) {
      lastValidNs = atNs;
      garbageBytes = 0;
      times.push({ atNs, count });
      heard += count;
      while (times[0].atNs < atNs - RATE_OVER_S * NS_PER_S) heard -= times.shift()?.count ?? 0;
      const spanS = (atNs - times[0].atNs) / NS_PER_S;
      if (spanS > 0.5) perSecond = (heard - times[0].count) / spanS;
    },
    at(nowNs, detail, worry) {
      if (!present) return { state: "absent", words: "not in the set-up" };
      if (Number.isNaN(lastBytesNs)) return { state: "waiting", words: "waiting for the first byte" };
      const silentS = (nowNs - lastBytesNs) / NS_PER_S;
      if (silentS > Math.max(1, staleS())) {
        times = [];
        heard = 0;
        perSecond = 0;
        return { state: "stale", words: `silent for ${silentS.toFixed(0)} s` };
      }
      if (garbageBytes > GARBAGE_BYTES) return { state: "wrong", words: `bytes arrive, none valid: ${remedy}` };
      if (Number.isNaN(lastValidNs)) return { state: "waiting", words: "waiting for the first valid line" };
      const validSilentS = (nowNs - lastValidNs) / NS_PER_S;
      if (validSilentS > Math.max(1, staleS())) return { state: "stale", words: `nothing valid for ${validSilentS.toFixed(0)} s` };
      if (worry !== null) return { state: "wrong", words: worry };
      // A rate is known once half a second was heard; before that there is none to tell.
      const rate = perSecond > 0 ? `${perSecond < 0.95 ? perSecond.toFixed(1) : perSecond.toFixed(0)} ${unit}` : "just begun";
      return { state: "fresh", words: [rate, detail].filter((part) => part !== "").join(", ") };
    },
  };
}
