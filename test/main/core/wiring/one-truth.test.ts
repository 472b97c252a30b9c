/** Wiring, Car and Before driving say the same of calibration and signals, since each asks the same place; what was seen once is not forgotten. */
import { afterEach, expect, test } from "vitest";
import { findingOf } from "../../../../src/renderer/pages/wiring/wiring-words.ts";
import { type WiredCar, wireCar } from "../../../support/wired-car.ts";

let car: WiredCar | null = null;
afterEach(async () => {
  await car?.end();
  car = null;
});

const marks = async ({ ask }: WiredCar) =>
  Object.fromEntries((await ask("wiring.read")).roles.flatMap(({ role, signals }) => signals.map(({ check }) => [role, check.mark])));

test("while a drive is recorded, Car tells the calibration that Before driving tells, to the digit", async () => {
  car = await wireCar([
    { kind: "stand", seconds: 2 },
    { kind: "gentle", seconds: 100 },
  ]);
  car.driveFor(95);
  const row = (await car.ask("before.read")).find(({ key }) => key === "calibration");
  expect(row).toMatchObject({ state: "green" });
  const { calibration, slipShare } = await car.ask("car.read");
  expect(calibration?.rollingRadiusM.from).toBe("calibrated");
  const { value, plusMinus95 } = calibration?.rollingRadiusM ?? { value: 0, plusMinus95: 0 };
  expect(row?.words).toContain(`radius ${value.toFixed(4)} ± ${plusMinus95.toFixed(4)} m`);
  expect(slipShare).toBeCloseTo(plusMinus95 / value, 9);
  expect(slipShare).toBeLessThan(0.004);
});

test("signals that a launch was driven with have been seen at work, whether or not anybody looked at Wiring then, and stay so", async () => {
  car = await wireCar([
    { kind: "stand", seconds: 190 },
    { kind: "gentle", seconds: 40 },
    { kind: "launch", standS: 3, toKmh: 105 },
    { kind: "stand", seconds: 200 },
  ]);
  // Nobody looks at Wiring: three minutes, then the driving.
  car.driveFor(190 + 60);
  // And again nobody, far longer than any trace is kept.
  car.driveFor(160);
  expect(await marks(car)).toEqual({ motorSpeed: "tick", torqueRequest: "tick", torqueDelivered: "tick", pedal: "tick" });
});

test("entering Wiring never tells a rate of nothing of a source that talks", async () => {
  car = await wireCar([{ kind: "stand", seconds: 200 }]);
  const said = new Set<string>();
  const look = async () => {
    const { gnss, can } = await (car as WiredCar).ask("wiring.read");
    for (const source of [gnss, can]) said.add(`${source?.health.state}: ${source?.health.words}`);
  };
  for (let i = 0; i < 20; i += 1) {
    car.driveFor(0.1);
    await look();
  }
  car.driveFor(185);
  await look();
  for (let i = 0; i < 10; i += 1) {
    car.driveFor(0.05);
    await look();
  }
  for (const words of said) expect(words).not.toMatch(/\b0 (epochs|frames)|fresh: 0|silent/);
});

test("nothing is left to do only where every useful signal is chosen and every chosen one was seen at work", async () => {
  car = await wireCar([
    { kind: "stand", seconds: 2 },
    { kind: "gentle", seconds: 60 },
  ]);
  car.driveFor(55);
  const { ask } = car;
  const before = findingOf(await ask("wiring.read"));
  expect(before.second).toContain("Not chosen");
  expect(before.second.toLowerCase()).toMatch(/wheels/);
  expect(before.sentence).not.toContain("every signal agrees");
});

test("a calibration that was offered to be accepted stays on offer while the car stands, and is what is then accepted", async () => {
  car = await wireCar([
    { kind: "stand", seconds: 2 },
    { kind: "gentle", seconds: 130 },
    { kind: "stand", seconds: 60 },
  ]);
  const { ask } = car;
  await ask("car.calibrate", { step: "begin" });
  const offered: boolean[] = [];
  for (let at = 0; at < 180; at += 5) {
    car.driveFor(5);
    offered.push((await ask("car.read")).guided?.good === true);
  }
  expect(offered.at(-1)).toBe(true);
  expect(offered.slice(offered.indexOf(true))).not.toContain(false);
  expect((await ask("car.calibrate", { step: "accept" })).calibration?.rollingRadiusM.from).toBe("calibrated");
});
