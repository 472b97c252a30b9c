/** What a screen is told while the simulated car stands and nobody has armed. */
import type { LiveEvent } from "../../src/shared/contract/contract.ts";

export const REST: LiveEvent = {
  event: "live",
  tS: 100,
  state: "idle",
  stateSinceS: 4.2,
  nextLabel: "traction control on",
  runsStored: 12,
  groundSpeedMps: 0,
  wheelSpeedMps: 0,
  slipSpeedMps: 0,
  slipRatio: null,
  greatestSlipSpeedMps: 0,
  greatestHeldNm: 0,
  torqueRequestNm: 0,
  torqueDeliveredNm: 0,
  pedalPercent: 0,
  stateOfCharge: 71,
  tractionControlEnabled: true,
  intervening: false,
  gnss: { state: "fresh", words: "10 Hz, 3D fix, 14 satellites" },
  can: { state: "fresh", words: "1,184 frames/s" },
  launchS: null,
  gates: [],
  nextGate: null,
  ageMs: 8,
};
