/** A launch driven around a change of the set-up is a run, or its loss is said: never neither. The drive is the simulator's. */
import { afterEach, expect, test } from "vitest";
import { type WiredCar, wireCar } from "../../../support/wired-car.ts";

let car: WiredCar | null = null;
afterEach(async () => {
  await car?.end();
  car = null;
});

const LAUNCH = [
  { kind: "stand", seconds: 8 },
  { kind: "launch", standS: 3, toKmh: 105 },
  { kind: "stand", seconds: 12 },
];
const change = ({ ask }: WiredCar) =>
  ask("wiring.choose", { role: "stateOfCharge", choices: [{ signal: "BatteryState.StateOfCharge", invert: false }], anyway: true });
const notices = ({ events }: WiredCar) =>
  events.flatMap((event) => (event.event === "notice" && event.key === "moved" ? [event.text] : []));

test("what was armed and labelled before a change is so after it: the launch that follows is a run, in use and under its label", async () => {
  car = await wireCar(LAUNCH);
  const { ask } = car;
  car.driveFor(2);
  await ask("drive.label", { label: "slip target 8 %" });
  await ask("drive.arm");
  car.driveFor(1);
  expect(await change(car)).toHaveProperty("undo");
  car.driveFor(40);
  expect(await ask("runs.list")).toMatchObject([{ label: "slip target 8 %", use: true }]);
  expect(notices(car)).toEqual([]);
});

test("a change made while the car moves is said to have closed the recording there, until the car stands ready again", async () => {
  car = await wireCar([...LAUNCH, ...LAUNCH]);
  const { ask } = car;
  car.driveFor(13);
  expect((await ask("wiring.read")).groundSpeedMps).toBeGreaterThan(3);
  await change(car);
  car.driveFor(1);
  expect(notices(car)).toEqual([expect.stringMatching(/moved while the set-up was changed.*not timed/)]);
  await ask("drive.arm");
  car.driveFor(40);
  expect(notices(car).at(-1)).toBeNull();
});

test("a car that drives while its set-up lacks something is said not to be recorded, and why", async () => {
  car = await wireCar(LAUNCH);
  const { ask } = car;
  car.driveFor(2);
  await ask("wiring.choose", { role: "torqueRequest", choices: [], anyway: false });
  car.driveFor(12);
  expect(notices(car)).toEqual([expect.stringMatching(/moves, and nothing is recorded: .*signals/)]);
});
