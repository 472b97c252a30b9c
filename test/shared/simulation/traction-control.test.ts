/**
 * The simulated control does what it is set to: its slip, how often it looks, how late it acts, how hard. The plan's own figures are the
 * truth.
 */
import { expect, test } from "vitest";
import { createDrive } from "../../../src/shared/simulation/drive.ts";
import { readPlan } from "../../../src/shared/simulation/read-plan.ts";
import { simulateDay } from "../../../src/shared/simulation/simulate-day.ts";
import { type ControlSetting, createTractionControl, DEFAULT_CONTROL } from "../../../src/shared/simulation/traction-control.ts";

/** Commands, one a millisecond, while slip speed rises by 20 m/s each second from standing still at 10 m/s. */
function commandsOf(setting: Partial<ControlSetting>): number[] {
  const control = createTractionControl({ ...DEFAULT_CONTROL, ...setting });
  return Array.from({ length: 400 }, (_, ms) => control.step(300, 0.02 * ms, 10, true));
}
const firstCut = (commands: readonly number[]) => commands.findIndex((nm) => nm < 300);

test("createTractionControl() answers later by what it is set to be late, to the millisecond", () => {
  const at = firstCut(commandsOf({}));
  expect(at).toBeGreaterThan(0);
  for (const lateS of [0.005, 0.04, 0.2]) expect(firstCut(commandsOf({ lateS }))).toBe(at + lateS * 1e3);
});

test("createTractionControl() changes its command only when it looks", () => {
  for (const everyS of [0.01, 0.05]) {
    const commands = commandsOf({ everyS });
    const steps = commands.flatMap((nm, ms) => (ms > 0 && nm !== commands[ms - 1] ? [ms] : []));
    expect(steps.length).toBeGreaterThan(1);
    for (const ms of steps) expect(ms % (everyS * 1e3)).toBe(0);
  }
});

test("createTractionControl() cuts harder where it is set to", () => {
  const at = firstCut(commandsOf({})) + 5;
  const [soft, usual, hard] = [0.5, 1, 2].map((strength) => 300 - commandsOf({ strength })[at]);
  expect(soft).toBeCloseTo((usual as number) / 2, 6);
  expect(hard).toBeCloseTo(2 * (usual as number), 6);
});

/** Mean slip ratio from 45 to 58 km/h of a launch with this setting of the day's control (at lower speed the least slip speed counts). */
function heldSlip(control: Partial<ControlSetting>): number {
  const plan = readPlan({ control, segments: [{ kind: "launch", toKmh: 62, grip: 1 }] }, 1);
  const slips: number[] = [];
  const drive = createDrive({ seed: 1, plan, segments: plan.segments[Symbol.iterator](), onLaunch: () => undefined });
  while (drive.step()) {
    drive.take();
    const { speedMps, axleRadps, accelerationMps2 } = drive.state;
    if (speedMps < 45 / 3.6 || speedMps > 58 / 3.6 || accelerationMps2 < 0) continue;
    slips.push((axleRadps * drive.car.rollingRadiusM) / speedMps - 1);
  }
  return slips.reduce((sum, slip) => sum + slip, 0) / slips.length;
}

test("the simulated car slips by what its control is set to", () => {
  for (const slip of [0.03, 0.085, 0.16]) expect(heldSlip({ slip })).toBeCloseTo(slip, 2);
});

test("the day's truth tells how the control was set for each launch, and null where it was off", () => {
  const plan = readPlan(
    {
      control: { slip: 0.03, lateS: 0.02 },
      segments: [
        { kind: "launch", toKmh: 30 },
        { kind: "launch", toKmh: 30, control: { slip: 0.11 } },
        { kind: "launch", toKmh: 30, tractionControl: false },
      ],
    },
    1,
  );
  const day = simulateDay({ seed: 1, plan });
  for (const _ of day.packets);
  expect(day.truth().runs.map((run) => run.control)).toEqual([
    { ...DEFAULT_CONTROL, slip: 0.03, lateS: 0.02 },
    { ...DEFAULT_CONTROL, slip: 0.11, lateS: 0.02 },
    null,
  ]);
});
