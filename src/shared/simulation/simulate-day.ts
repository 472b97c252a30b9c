/**
 * A whole day of the simulated car: packets in order of arrival, then the true values. Asking for these before the last packet was taken
 * throws an Error.
 */
import { defaultDayPlan } from "./default-day.ts";
import { createDrive } from "./drive.ts";
import type { LaunchTruth, TrueGate } from "./launch-truth.ts";
import type { SimulatedPacket } from "./packets.ts";
import type { DayPlan } from "./plan.ts";
import type { ControlSetting } from "./traction-control.ts";
import { isoText } from "./utc-text.ts";

interface TrueRun {
  readonly label: string;
  /** The control's setting; null where it was switched off. */
  readonly control: ControlSetting | null;
  /** ISO 8601 with microseconds; null for a car that never moved. */
  readonly movementUtc: string | null;
  /** The same moment on the host's clock, seconds since the day's start. */
  readonly movementHostS: number | null;
  readonly gates: readonly TrueGate[];
  readonly slip: LaunchTruth["slip"];
}

export interface DayTruth {
  readonly seed: number;
  /** The host's wall clock at the day's start. */
  readonly startUnixS: number;
  readonly rollingRadiusM: number;
  /** Least time from having a speed to its epoch's first byte, on the base that bus frames use. */
  readonly gnssDelayS: number;
  readonly runs: readonly TrueRun[];
}

export interface SimulatedDay {
  readonly startUnixS: number;
  /** Can be iterated once. */
  readonly packets: Generator<SimulatedPacket, void, undefined>;
  truth(): DayTruth;
}

/** The same seed and plan give the same bytes. Without a plan, the demo day of that seed is driven. */
export function simulateDay({ seed, plan = defaultDayPlan(seed) }: { seed: number; plan?: DayPlan }): SimulatedDay {
  const runs: TrueRun[] = [];
  const drive = createDrive({
    seed,
    plan,
    segments: plan.segments[Symbol.iterator](),
    onLaunch: ({ segment, truth, movementUtcUs, movementHostS }) => {
      runs.push({
        label: segment.label,
        control: segment.tractionControl ? { ...plan.control, ...segment.control } : null,
        movementUtc: movementUtcUs === null ? null : isoText(movementUtcUs),
        movementHostS,
        gates: truth.gates,
        slip: truth.slip,
      });
    },
  });
  let over = false;
  function* packets(): Generator<SimulatedPacket, void, undefined> {
    let going = true;
    while (going) {
      going = drive.step();
      yield* drive.take();
    }
    over = true;
  }
  return {
    startUnixS: plan.startUnixS,
    packets: packets(),
    truth() {
      const gnssDelayS = drive.gnssDelayS();
      if (!over || gnssDelayS === null)
        throw new Error("The truth of a simulated day is known when its last packet was taken, and only if both sources spoke");
      return { seed, startUnixS: plan.startUnixS, rollingRadiusM: drive.car.rollingRadiusM, gnssDelayS, runs };
    },
  };
}
