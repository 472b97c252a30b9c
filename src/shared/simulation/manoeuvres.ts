/**
 * Turns a segment of the plan into actions for each millisecond. Every segment but drive, turn and gentle ends at rest; each has a time
 * limit, so none can hang.
 */
import { assertNever } from "../kernel/assert-never.ts";
import { MPS_PER_KMH } from "../kernel/units.ts";
import type { Cockpit, Manoeuvre } from "./cockpit.ts";
import { createDecoy } from "./decoys.ts";
import { createLaunch } from "./launch.ts";
import type { Segment } from "./plan.ts";

const TURN_MPS = 5.5;
const TURN_RADIUS_M = 19;
const LIMIT_S = 300;
const ROLLS_OUT_MPS = 3;

/** Slows down to turning speed, then drives half a circle. */
function createTurn({ model, controls, driver }: Cockpit): Manoeuvre {
  let turnedRad = 0;
  return () => {
    driver.holdSpeed(TURN_MPS, 1.3);
    controls.yawRateRadps = 0;
    if (Math.abs(model.state.speedMps - TURN_MPS) > 0.8 && turnedRad === 0) return false;
    controls.yawRateRadps = Math.min(model.state.speedMps / TURN_RADIUS_M, (Math.PI - turnedRad) * 1e3);
    turnedRad += controls.yawRateRadps * 1e-3;
    if (turnedRad < Math.PI - 1e-9) return false;
    controls.yawRateRadps = 0;
    return true;
  };
}

function createDrive(cockpit: Cockpit, metres: number, kmh: number): Manoeuvre {
  const fromM = cockpit.model.state.distanceM;
  return (tS) => {
    cockpit.driver.holdSpeed(kmh * MPS_PER_KMH, 1.4);
    return cockpit.model.state.distanceM - fromM >= metres || tS > LIMIT_S;
  };
}

/** Between about 30 and 80 km/h by the motor alone, with torque of both signs and a turn each kilometre; then to a stop. */
function createGentle(cockpit: Cockpit, seconds: number): Manoeuvre {
  const { model, driver, random } = cockpit;
  const targets = [8.5, 22.3, 9, 23, 13, 21, 8.3].map((mps) => mps + random.between(-0.4, 0.4));
  let index = 0;
  let heldS = 0;
  let holdForS = 3;
  let mostMps2 = 1.3;
  let straightFromM = model.state.distanceM;
  let turn: Manoeuvre | null = null;
  return (tS) => {
    if (turn !== null) {
      if (turn(tS)) {
        turn = null;
        straightFromM = model.state.distanceM;
      }
      return false;
    }
    if (tS > seconds) {
      // The motor slows the car, so that the undriven wheels roll freely as long as possible.
      if (model.state.speedMps > ROLLS_OUT_MPS) driver.holdSpeed(ROLLS_OUT_MPS - 1, 1.4);
      else driver.brake(0.8);
      return model.state.speedMps === 0;
    }
    const target = targets[index % targets.length];
    driver.holdSpeed(target, mostMps2);
    if (Math.abs(model.state.speedMps - target) < 0.4) heldS += 1e-3;
    if (heldS < holdForS) return false;
    if (target < 10 && model.state.distanceM - straightFromM > 900) turn = createTurn(cockpit);
    index += 1;
    heldS = 0;
    holdForS = random.between(2, 5);
    mostMps2 = random.between(0.9, 1.5);
    return false;
  };
}

function createStand({ driver, model }: Cockpit, seconds: number): Manoeuvre {
  let stoodS = 0;
  return () => {
    if (model.state.speedMps !== 0) driver.brake(1.8);
    else {
      driver.stand();
      stoodS += 1e-3;
    }
    return stoodS >= seconds;
  };
}

/** The manoeuvre for a segment, starting from the car's present state. */
export function createManoeuvre(segment: Segment, cockpit: Cockpit): Manoeuvre {
  switch (segment.kind) {
    case "gentle":
      return createGentle(cockpit, segment.seconds);
    case "launch":
      return createLaunch(segment, cockpit);
    case "decoy":
      return createDecoy(segment.what, cockpit);
    case "drive":
      return createDrive(cockpit, segment.metres, segment.kmh);
    case "turn":
      return createTurn(cockpit);
    case "stand":
      return createStand(cockpit, segment.seconds);
    default:
      return assertNever(segment);
  }
}
