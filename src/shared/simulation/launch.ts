/** A real launch: stand, press, lift at the top speed, brake to a stop, stand. Lifts after 25 s where the top speed is never reached. */
import { MPS_PER_KMH } from "../kernel/units.ts";
import type { Cockpit, Manoeuvre } from "./cockpit.ts";
import type { LaunchSegment } from "./plan.ts";

const GIVES_UP_S = 25;
const STANDS_AFTER_S = 4;
const FOOT_PERCENT_PER_S = 320;
const BRAKING_MPS2 = 6.2;
const BUILD_UP_S = 0.6;

const smooth = (share: number) => (share >= 1 ? 1 : share <= 0 ? 0 : share * share * (3 - 2 * share));

/** Manoeuvre for one launch. Without traction control the driver eases the pedal some tenths of a second after the wheels begin to spin. */
export function createLaunch(
  segment: LaunchSegment,
  { car, model, controls, driver, random, control, launchBegins, launchEnds }: Cockpit,
): Manoeuvre {
  const state = model.state;
  const grip = segment.grip > 0 ? segment.grip : 1 + 0.007 * random.normal();
  const reactionS = random.between(0.5, 1.1);
  const easedPercent = random.between(60, 86);
  const holdS = segment.staticHoldNm > 0 ? BUILD_UP_S + random.between(0.2, 0.6) : 0;
  let phase: "settle" | "stand" | "hold" | "press" | "lift" | "brake" | "after" = "settle";
  let sinceS = 0;
  let footPercent = 0;
  let runningAwayS = 0;
  const enter = (next: typeof phase) => {
    phase = next;
    sinceS = 0;
  };

  function foot(): number {
    const slipMps = state.axleRadps * car.rollingRadiusM - state.speedMps;
    if (slipMps > 3) runningAwayS += 1e-3;
    else if (slipMps < 1.2) runningAwayS = 0;
    const eases = segment.eases && !segment.tractionControl && runningAwayS > reactionS;
    const wanted = eases ? Math.min(segment.pedalPercent, easedPercent) : segment.pedalPercent;
    const most = FOOT_PERCENT_PER_S * 1e-3;
    if (sinceS < segment.rampS) footPercent = Math.max(footPercent, segment.pedalPercent * smooth(sinceS / segment.rampS));
    else footPercent += Math.min(most, Math.max(-most, wanted - footPercent));
    return footPercent;
  }

  return () => {
    sinceS += 1e-3;
    controls.tractionControl = segment.tractionControl;
    switch (phase) {
      case "settle":
        driver.brake(1.8);
        if (state.speedMps === 0) {
          model.setRoad(segment.surface, grip);
          model.setControl({ ...control, ...segment.control });
          enter("stand");
        }
        return false;
      case "stand":
        driver.stand();
        if (sinceS >= segment.standS) {
          launchBegins(segment);
          enter(holdS > 0 ? "hold" : "press");
        }
        return false;
      case "hold":
        footPercent = (100 * segment.staticHoldNm * Math.min(1, sinceS / BUILD_UP_S)) / car.maxTorqueNm;
        driver.press(footPercent);
        // Strong enough for any torque that a driver holds against the brakes; on both axles, so that nothing turns.
        controls.frontBrakeN = 6000;
        controls.rearBrakeN = 13000;
        if (sinceS >= holdS) enter("press");
        return false;
      case "press":
        driver.press(foot());
        if (state.speedMps >= segment.toKmh * MPS_PER_KMH || sinceS > GIVES_UP_S) enter("lift");
        return false;
      case "lift":
        footPercent = Math.max(0, footPercent - 0.7);
        driver.press(footPercent);
        if (sinceS > 0.35) enter("brake");
        return false;
      case "brake":
        driver.brake(segment.surface === "wet" ? 0.7 * BRAKING_MPS2 : BRAKING_MPS2);
        if (state.speedMps === 0) enter("after");
        return false;
      default:
        driver.stand();
        if (sinceS < STANDS_AFTER_S) return false;
        launchEnds();
        model.setRoad("dry", 1);
        model.setControl(control);
        controls.tractionControl = true;
        return true;
    }
  };
}
