/** Six drives that are not launches: none has the pedal past 50 % or 2.5 m/s2 for half a second. All begin and end at rest. */
import { assertNever } from "../kernel/assert-never.ts";
import type { Cockpit, Manoeuvre } from "./cockpit.ts";
import type { DecoyName } from "./plan.ts";

const STANDS_BEFORE_S = 5;
const STANDS_AFTER_S = 3;
const LIMIT_S = 120;

/** One millisecond of the decoy's middle part, `tS` since it began; returns true when the car must stop. */
function createMiddle(what: DecoyName, { model, controls, driver }: Cockpit): Manoeuvre {
  const fromM = model.state.distanceM;
  const goneM = () => Math.abs(model.state.distanceM - fromM);
  switch (what) {
    case "falseStart":
      return (tS) => {
        driver.press(31 * Math.min(1, tS / 0.25));
        return tS > 0.9;
      };
    case "creep":
      return (tS) => {
        driver.holdSpeed(1.3, 0.4);
        controls.pedalPercent = 0;
        return tS > 7;
      };
    case "push":
      return (tS) => {
        driver.press(0);
        controls.pushN = Math.max(0, 430 * Math.min(1, tS / 1.2, (9 - tS) / 0.5));
        return tS > 9;
      };
    case "reverse":
      return (tS) => {
        driver.holdSpeed(-1.8, 0.6);
        return tS > 7;
      };
    case "spin":
      // The driven wheels stand on a wet patch; the brakes hold the front.
      model.setRoad("wet", 0.6, true);
      return (tS) => {
        driver.press(45 * Math.min(1, tS / 0.4, Math.max(0, (2.8 - tS) / 0.3)));
        controls.frontBrakeN = 9000;
        return tS > 3.4;
      };
    case "driveBack":
      return () => {
        driver.holdSpeed(9.5, 1.5);
        return goneM() > 130;
      };
    default:
      return assertNever(what);
  }
}

/** Manoeuvre for one decoy. Traction control is off during the spin, as it would prevent it. */
export function createDecoy(what: DecoyName, cockpit: Cockpit): Manoeuvre {
  const { model, controls, driver } = cockpit;
  let phase: "settle" | "before" | "middle" | "stop" | "after" = "settle";
  let middle: Manoeuvre | null = null;
  let sinceS = 0;
  return (tS) => {
    sinceS += 1e-3;
    const next = (name: typeof phase) => {
      phase = name;
      sinceS = 0;
    };
    if (phase === "settle") {
      driver.brake(1.8);
      if (model.state.speedMps === 0) next("before");
    } else if (phase === "before") {
      driver.stand();
      if (sinceS > STANDS_BEFORE_S) next("middle");
    } else if (phase === "middle") {
      controls.tractionControl = what !== "spin";
      middle ??= createMiddle(what, cockpit);
      if (middle(sinceS) || tS > LIMIT_S) next("stop");
    } else if (phase === "stop") {
      driver.brake(2);
      controls.frontBrakeN = Math.max(controls.frontBrakeN, what === "spin" ? 9000 : 0);
      if (model.state.speedMps === 0 && model.state.axleRadps === 0) next("after");
    } else {
      driver.stand();
      model.setRoad("dry", 1);
      controls.tractionControl = true;
      return sinceS > STANDS_AFTER_S;
    }
    return false;
  };
}
