/**
 * Times 60-0 and 100-0. Braking is a launch in reversed time, so the same estimator fits it (start = the last fall through 0.5 km/h). Runs
 * that did not brake to a stop get null seconds with the reason.
 */
import { KMH_PER_MPS } from "../kernel/units.ts";
import type { EstimateRunInput } from "../launch/estimate-input.ts";
import { fitLaunch } from "../launch/fit-launch.ts";
import { gateEnds } from "../launch/gate.ts";
import { halfWidthBetween, movementCrossing, speedCrossing } from "../launch/gate-times.ts";
import { prepareStop } from "../launch/prepare-stop.ts";
import type { GateResult } from "../launch/gate-result.ts";
import type { RunSamples } from "./run.ts";

/** Results of the stop gates in `input.gates`, in their order. */
export function timeStops(input: EstimateRunInput, samples: RunSamples): GateResult[] {
  const stops = input.gates.flatMap((gate) => {
    const { fromMps, to } = gateEnds(gate);
    return to.what === "standing" && fromMps !== null ? [{ name: gate.name, fromMps }] : [];
  });
  if (stops.length === 0) return [];
  const untimed = (gate: { readonly name: string }, why: string): GateResult => ({
    gate: gate.name,
    start: "entry",
    seconds: null,
    plusMinus95: null,
    atS: null,
    why,
  });
  const { stopS } = input.window;
  if (stopS === null) return stops.map((gate) => untimed(gate, "Not timed: the run did not go on into hard braking to standing"));
  let top = 0;
  for (const v of samples.groundSpeedMps) if (v > top) top = v;
  return stops.map((gate) => {
    if (top < gate.fromMps) return untimed(gate, `Not reached: top speed ${(top * KMH_PER_MPS).toFixed(1)} km/h`);
    const { recording, calibration, setUp, window } = input;
    const prepared = prepareStop({ recording, calibration, setUp, stopS, fromMps: gate.fromMps, liftS: window.liftS });
    const fit = prepared ? fitLaunch(prepared) : null;
    const stand = fit ? movementCrossing(fit) : null;
    const first = fit && stand ? speedCrossing(fit, gate.fromMps, stand.x) : null;
    if (!stand || !first) return untimed(gate, "Not timed: too few receiver epochs with a speed while braking, or some were missing");
    return {
      gate: gate.name,
      start: "entry",
      seconds: first.atS - stand.atS,
      plusMinus95: halfWidthBetween(stand, first),
      atS: -stand.atS,
      distanceM: first.distanceM - stand.distanceM,
    };
  });
}
