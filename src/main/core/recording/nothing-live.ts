/** The live event before any byte arrived: everything unknown. */
import type { LiveEvent } from "../../../shared/contract/contract.ts";

export const NOTHING_LIVE: LiveEvent = {
  event: "live",
  tS: 0,
  state: "idle",
  stateSinceS: 0,
  nextLabel: "",
  runsStored: 0,
  groundSpeedMps: null,
  wheelSpeedMps: null,
  slipSpeedMps: null,
  slipRatio: null,
  greatestSlipSpeedMps: null,
  greatestHeldNm: null,
  torqueRequestNm: null,
  torqueDeliveredNm: null,
  pedalPercent: null,
  stateOfCharge: null,
  tractionControlEnabled: null,
  intervening: null,
  gnss: { state: "absent", words: "not in the set-up" },
  can: { state: "absent", words: "not in the set-up" },
  launchS: null,
  gates: [],
  nextGate: null,
  ageMs: 0,
};

/** A source whose port is open but from which nothing arrived yet. */
export const FIRST_BYTE = { state: "waiting", words: "waiting for the first byte" } as const;
