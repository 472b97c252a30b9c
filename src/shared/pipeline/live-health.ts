/** Words on whether a source can be trusted right now, from what arrived of late. Never says fresh of a silent source. */
import { NS_PER_S } from "../kernel/units.ts";
import type { SourceHealth } from "./live-view.ts";

/** A source counts as silent after three of its periods, but not before 0.3 s (a USB burst may take that). */
const LEAST_STALE_S = 0.3;
const RATE_OVER_S = 2;
/** So many bytes without one valid line are garbage, not bad luck. */
const GARBAGE_BYTES = 400;

export interface LiveHealth {
  /** Bytes came in, valid or not. */
  bytes(count: number, atNs: number): void;
  /** Something valid came in: an epoch, a frame. */
  valid(count: number, atNs: number): void;
  /** `detail` stands behind the rate, such as "3d, 14 satellites"; `worry` replaces freshness, such as "no fix". */
  at(nowNs: number, detail: string, worry: string | null): SourceHealth;
  staleS(): number;
}

/** `unit` names what is counted: "Hz" of epochs, "frames/s". */
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
  let perSecond = 0;

  const staleS = () => Math.max(LEAST_STALE_S, perSecond > 0 ? 3 / perSecond : 0);

  return {
    staleS,
    bytes(count, atNs) {
      lastBytesNs = atNs;
      garbageBytes += count;
    },
    valid(count, atNs) {
      lastValidNs = atNs;
      garbageBytes = 0;
      times.push({ atNs, count });
      while (times.length > 0 && times[0].atNs < atNs - RATE_OVER_S * NS_PER_S) times.shift();
      const spanS = (atNs - times[0].atNs) / NS_PER_S;
      if (spanS > 0.5) perSecond = times.slice(1).reduce((sum, one) => sum + one.count, 0) / spanS;
    },
    at(nowNs, detail, worry) {
      if (!present) return { state: "absent", words: "not in the set-up" };
      if (Number.isNaN(lastBytesNs)) return { state: "waiting", words: "waiting for the first byte" };
      const silentS = (nowNs - lastBytesNs) / NS_PER_S;
      if (silentS > Math.max(1, staleS())) {
        times = [];
        perSecond = 0;
        return { state: "stale", words: `silent for ${silentS.toFixed(0)} s` };
      }
      if (garbageBytes > GARBAGE_BYTES) return { state: "wrong", words: `bytes arrive, none valid: ${remedy}` };
      if (Number.isNaN(lastValidNs)) return { state: "waiting", words: "waiting for the first valid line" };
      const validSilentS = (nowNs - lastValidNs) / NS_PER_S;
      if (validSilentS > Math.max(1, staleS())) return { state: "stale", words: `nothing valid for ${validSilentS.toFixed(0)} s` };
      if (worry !== null) return { state: "wrong", words: worry };
      return { state: "fresh", words: [`${perSecond.toFixed(0)} ${unit}`, detail].filter((part) => part !== "").join(", ") };
    },
  };
}
