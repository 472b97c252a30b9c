/**
 * The present launch as it grows: one sample for each live event, with the greatest values since the event before. Kept until the next
 * launch begins. Bounded; unknown stays NaN.
 */
import { KMH_PER_MPS } from "../../shared/kernel/units.ts";
import type { LiveEvent } from "../../shared/contract/contract.ts";
import type { SeamData } from "../../shared/draw/seam-columns.ts";

/** Two minutes at 60 events a second; a launch is far shorter. */
const MOST_SAMPLES = 7_200;

/** Torque held back, Nm: asked minus delivered while the driver asks for torque; null when either is unknown. */
export function heldBackNm(live: Pick<LiveEvent, "torqueRequestNm" | "torqueDeliveredNm">): number | null {
  if (live.torqueRequestNm === null || live.torqueDeliveredNm === null) return null;
  return live.torqueRequestNm <= 0 ? 0 : Math.max(0, live.torqueRequestNm - live.torqueDeliveredNm);
}

export interface LiveTrace {
  push(live: LiveEvent): void;
  readonly data: SeamData;
  /** Time of the last sample, s from movement; null before the first. */
  endS(): number | null;
}

export function createLiveTrace(): LiveTrace {
  const timeS: number[] = [];
  const slipKmh: number[] = [];
  const heldNm: number[] = [];
  const intervening: number[] = [];
  let launched = false;
  return {
    data: { timeS, slipKmh, heldNm, intervening },
    push(live) {
      const now = live.state === "launched" && live.launchS !== null;
      if (now && !launched) for (const column of [timeS, slipKmh, heldNm, intervening]) column.length = 0;
      launched = now;
      const last = timeS[timeS.length - 1] ?? Number.NEGATIVE_INFINITY;
      if (!now || live.launchS === null || live.launchS <= last || timeS.length >= MOST_SAMPLES) return;
      timeS.push(live.launchS);
      slipKmh.push(live.greatestSlipSpeedMps === null ? Number.NaN : live.greatestSlipSpeedMps * KMH_PER_MPS);
      heldNm.push(live.greatestHeldNm ?? Number.NaN);
      intervening.push(live.intervening === true ? 1 : 0);
    },
    endS: () => timeS[timeS.length - 1] ?? null,
  };
}
