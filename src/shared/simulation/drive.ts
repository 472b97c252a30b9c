/**
 * One simulated drive, a millisecond at a time: car, driver, receiver, bus and adapter; packets in order of arrival. Ends with the last
 * segment; the simulation itself cannot fail.
 */
import { createAdapter } from "./adapter.ts";
import { createBus } from "./bus.ts";
import { createCarModel, type CarState } from "./car-model.ts";
import { drawCar, type CarParameters } from "./car-parameters.ts";
import type { Cockpit, Manoeuvre } from "./cockpit.ts";
import { type Controls, releasedControls } from "./controls.ts";
import { createDriver } from "./driver.ts";
import { createHostClock } from "./host-clock.ts";
import { createLaunchTrace, type LaunchTrace, type LaunchTruth } from "./launch-truth.ts";
import { createManoeuvre } from "./manoeuvres.ts";
import type { SimulatedPacket } from "./packets.ts";
import type { DayPlan, LaunchSegment, Segment } from "./plan.ts";
import { createRandom } from "./random.ts";
import { createReceiver } from "./receiver.ts";

export interface FinishedLaunch {
  readonly segment: LaunchSegment;
  readonly truth: LaunchTruth;
  /** UTC of start "movement", microseconds; null for a car that never moved. */
  readonly movementUtcUs: number | null;
  /** Host time of start "movement", s since the day's start. */
  readonly movementHostS: number | null;
}

export interface Drive {
  readonly car: CarParameters;
  /** The present true state, and the present controls; read only. */
  readonly state: Readonly<CarState>;
  readonly controls: Readonly<Controls>;
  readonly startUtcUs: number;
  /** One millisecond; false when the plan is over and everything sent has arrived. */
  step(): boolean;
  /** Returns and removes what has arrived since the last call, in order of arrival. */
  take(): SimulatedPacket[];
  /** The present time, host microseconds. */
  nowUs(): number;
  /** By the definition of `gnssDelayS`; null before both sources have sent something. */
  gnssDelayS(): number | null;
}

const HEADING_DEG = 74;
const LAST_BYTES_MS = 400;

/** Removes packets that have arrived from both queues, the earlier one first. */
function takeUntil(untilUs: number, gnssQueue: SimulatedPacket[], canQueue: SimulatedPacket[]): SimulatedPacket[] {
  const arrived: SimulatedPacket[] = [];
  let g = 0;
  let c = 0;
  for (;;) {
    const a = gnssQueue[g];
    const b = canQueue[c];
    const gnssFirst = a !== undefined && (b === undefined || a.arrivalUs <= b.arrivalUs);
    const next = gnssFirst ? a : b;
    if (next === undefined || next.arrivalUs > untilUs) break;
    arrived.push(next);
    if (gnssFirst) g += 1;
    else c += 1;
  }
  if (g > 0) gnssQueue.splice(0, g);
  if (c > 0) canQueue.splice(0, c);
  return arrived;
}

/** `onLaunch` is called with each launch when it is over. */
export function createDrive({
  seed,
  plan,
  segments,
  onLaunch,
}: {
  seed: number;
  plan: Omit<DayPlan, "segments">;
  segments: Iterator<Segment>;
  onLaunch: (launch: FinishedLaunch) => void;
}): Drive {
  const car = { ...drawCar(createRandom(seed, "car")), ...plan.car };
  const model = createCarModel(car, (HEADING_DEG * Math.PI) / 180, plan.charge);
  model.setControl(plan.control);
  const controls = releasedControls();
  const host = createHostClock(plan.hostPpm, plan.stalls);
  const startUtcUs = Math.round((plan.startUnixS + plan.wallOffsetS) * 1e6);
  const receiver = createReceiver({ plan: plan.receiver, random: createRandom(seed, "receiver"), host, startUtcUs });
  const adapter = createAdapter({ plan: plan.bus, random: createRandom(seed, "adapter"), host });
  const bus = createBus({ car, plan: plan.bus, adapter });
  const driver = createDriver({ car, model, controls, random: createRandom(seed, "foot") });
  const gnssQueue: SimulatedPacket[] = [];
  const canQueue: SimulatedPacket[] = [];
  let arrived: SimulatedPacket[] = [];
  let tMs = -1;
  let trace: { columns: LaunchTrace; segment: LaunchSegment; fromMs: number } | null = null;
  let manoeuvre: Manoeuvre | null = null;
  let beganMs = 0;
  let overMs: number | null = null;

  const cockpit: Cockpit = {
    car,
    model,
    controls,
    driver,
    random: createRandom(seed, "driver"),
    control: plan.control,
    launchBegins(segment) {
      trace = { columns: createLaunchTrace(), segment, fromMs: tMs };
    },
    launchEnds() {
      if (trace === null) return;
      const truth = trace.columns.truth();
      const movementS = truth.movementS === null ? null : trace.fromMs / 1e3 + truth.movementS;
      onLaunch({
        segment: trace.segment,
        truth,
        movementUtcUs: movementS === null ? null : startUtcUs + Math.round(movementS * 1e6),
        movementHostS: movementS === null ? null : host.usAt(movementS) / 1e6,
      });
      trace = null;
    },
  };

  function nextManoeuvre(): Manoeuvre | null {
    const next = segments.next();
    beganMs = tMs;
    return next.done === true ? null : createManoeuvre(next.value, cockpit);
  }

  return {
    car,
    state: model.state,
    controls,
    startUtcUs,
    step() {
      tMs += 1;
      if (overMs === null) {
        manoeuvre ??= nextManoeuvre();
        if (manoeuvre === null) overMs = tMs;
        else if (manoeuvre((tMs - beganMs) / 1e3)) manoeuvre = null;
      }
      if (overMs === null) {
        // The present state was reached by this millisecond; controls act from here on.
        const s = model.state;
        trace?.columns.add(s.speedMps, s.distanceM, s.axleRadps * car.rollingRadiusM - s.speedMps, controls.pedalPercent);
        receiver.step(tMs, s, gnssQueue);
        bus.step(tMs, s, controls, canQueue);
        model.step(controls);
      } else adapter.flush(tMs / 1e3, canQueue);
      const done = overMs !== null && tMs - overMs > LAST_BYTES_MS;
      arrived.push(...takeUntil(done ? Number.POSITIVE_INFINITY : host.usAt(tMs / 1e3), gnssQueue, canQueue));
      return !done;
    },
    take() {
      const out = arrived;
      arrived = [];
      return out;
    },
    nowUs: () => host.usAt(Math.max(0, tMs) / 1e3),
    gnssDelayS() {
      const gnss = receiver.leastDelayS();
      const can = adapter.latenessS();
      return gnss === null || can === null ? null : gnss - can;
    },
  };
}
