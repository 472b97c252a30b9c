/** Advice on launches whose losses are chosen by hand: which change, how much, in whose units, and when there must be none. */
import { expect, test } from "vitest";
import { type Gate, STANDARD_GATES } from "../../../src/shared/launch/gate.ts";
import { advise, type AdviceQuestion } from "../../../src/shared/tune/advise.ts";
import { type GroupControl, groupControl, unseenControl } from "../../../src/shared/tune/group-control.ts";
import type { GripCurve } from "../../../src/shared/tune/grip-curve.ts";
import { groupLosses } from "../../../src/shared/tune/group-losses.ts";
import type { TuneRun } from "../../../src/shared/tune/tune-run.ts";
import { knownCar, knownCurve, knownRun, type RunChange, SIXTY_MPS, type Stretch } from "./known-launch.fixture.ts";

const SIXTY = STANDARD_GATES.find((gate) => gate.name === "0-60 mph") as Gate;
/** Held at 6 % and 4 m/s2 where 18 % would give 4.9. */
const CAUTIOUS: readonly Stretch[] = [{ toMps: SIXTY_MPS, mps2: 4, askedNm: 400, deliveredNm: 240, slip: 0.06 }];
/** Control that lets it spin at 30 %. */
const BOLD: readonly Stretch[] = [{ toMps: SIXTY_MPS, mps2: 4.4, askedNm: 400, deliveredNm: 300, slip: 0.3 }];
const UNBRIDLED: readonly Stretch[] = [{ toMps: SIXTY_MPS, mps2: 4, askedNm: 400, deliveredNm: 400, slip: 0.5 }];
const LATE: readonly Stretch[] = [
  { toMps: 3, mps2: 3, askedNm: 200, deliveredNm: 200, slip: 0.05 },
  { toMps: SIXTY_MPS, mps2: 4.9, askedNm: 400, deliveredNm: 400, slip: 0.17 },
];

const pair = (stretches: readonly Stretch[], change: RunChange = {}, courses: readonly number[] = [90, 270]) =>
  courses.map((courseDeg, i) => knownRun(i + 1, stretches, [], { ...change, courseDeg }));

interface Asked {
  readonly control?: Partial<GroupControl>;
  readonly curve?: GripCurve;
  readonly predict?: AdviceQuestion["predict"];
}

function ask(runs: readonly TuneRun[], { control = {}, curve = knownCurve(), predict = () => null }: Asked = {}) {
  const car = knownCar();
  const losses = groupLosses({ label: "as set", runs, gate: SIXTY, start: "movement", car, curves: [curve] });
  const found = { ...losses, control: { ...unseenControl(), holdsSlipAt: groupControl(runs, car, null).holdsSlipAt, ...control } };
  return advise({
    car,
    grip: [curve],
    groups: [{ found, runs }],
    gate: SIXTY.name,
    start: "movement",
    predict,
    leftOut: [],
  });
}

test("a control that holds 6 % where the tyre grips best at 18 % is told to let more slip, for what was held back", () => {
  const { advice, silent } = ask(pair(CAUTIOUS));
  expect(advice).toHaveLength(1);
  expect(advice[0]).toMatchObject({ group: "as set", change: "moreSlip", to: 0.18, unit: "1", gainFrom: "losses" });
  expect(advice[0]?.from).toBeCloseTo(0.06, 6);
  const lost = (SIXTY_MPS - 0.5 / 3.6) * (1 / 4 - 2 / 9.80665);
  expect(advice[0]?.expectedGainS.value).toBeCloseTo(lost, 2);
  expect(advice[0]?.test).toEqual({ runsPerGroup: 6, gate: "0-60 mph", groups: ["as set", "as set, slip 18\u00a0%"] });
  expect(advice[0]?.words).toContain("change nothing else");
  expect(silent).toEqual([]);
});

test("one that lets it spin at 30 % is told less slip", () => {
  expect(ask(pair(BOLD)).advice[0]).toMatchObject({ change: "lessSlip", to: 0.18 });
});

test("the change is said in the units of the parameter that was noted with every run", () => {
  const { advice } = ask(pair(CAUTIOUS, { conditions: { "changed slip target": "4 -> 6 %" } }));
  expect(advice[0]?.own).toEqual({ parameter: "slip target", now: 6, next: 18, unit: "%" });
  expect(advice[0]?.words).toContain("slip target from 6 to about 18\u00a0%");
  expect(ask(pair(CAUTIOUS, { conditions: { "slip target": "6 %", "slip gain": "3" } })).advice[0]?.own).toBeNull();
});

test("a simulation's gain takes the place of what was lost, and says that it is one", () => {
  const { advice } = ask(pair(CAUTIOUS), { predict: () => ({ value: 0.9, plusMinus95: 0.2 }) });
  expect(advice[0]).toMatchObject({ gainFrom: "simulation", expectedGainS: { value: 0.9, plusMinus95: 0.2 } });
  expect(advice[0]?.words).toContain("by a simulation");
});

test("the largest expected gain comes first, at most three", () => {
  const gains = { moreSlip: 0.3, lessSlip: 0, answerSooner: 0.8, calmer: 0.5, askSooner: 0.1, askLater: 0.2 };
  const both: readonly Stretch[] = [{ toMps: 12, mps2: 3, askedNm: 400, deliveredNm: 300, slip: 0.3 }, ...CAUTIOUS];
  const control = {
    holdsSlipAt: { value: 0.06, plusMinus95: 0.005 },
    answersAfterS: { value: 0.15, plusMinus95: 0.01 },
    overshoot: { value: 2, plusMinus95: 0.2 },
    oscillationHz: { value: 5, plusMinus95: 0.5 },
  };
  const { advice } = ask(pair(both), { control, predict: (_, { change }) => ({ value: gains[change], plusMinus95: 0.01 }) });
  expect(advice.map(({ change }) => change)).toEqual(["answerSooner", "calmer", "moreSlip"]);
});

test("a gain whose interval holds nothing is not advised, but told", () => {
  const { advice, silent } = ask(pair(CAUTIOUS), { predict: () => ({ value: 0.1, plusMinus95: 0.2 }) });
  expect(advice).toEqual([]);
  expect(silent.join()).toContain("might gain 0.10 s, ± 0.20 s");
});

test("what was not looked for is not said to have been: without torque asked for, its seconds have no cause", () => {
  const best: readonly Stretch[] = [{ toMps: SIXTY_MPS, mps2: 4.4, askedNm: 400, deliveredNm: 400, slip: 0.17 }];
  expect(ask(pair(best)).silent).toEqual(["as set: no change stands out; spin, torque held back and asking late were looked for."]);
  const unmapped = [1, 2].map((id) => knownRun(id, best, ["torqueRequest"]));
  const { advice, silent } = ask(unmapped);
  expect(advice).toEqual([]);
  const lost = (SIXTY_MPS - 0.5 / 3.6) * (1 / 4.4 - 2 / 9.80665);
  expect(silent).toEqual([
    `as set: no change stands out, but ${lost.toFixed(2)}\u00a0s were lost where torque or slip is unknown; only the rest was looked through.`,
  ]);
});

test("a slow foot is told to ask sooner, wheels that nothing holds to ask later", () => {
  expect(ask(pair(LATE)).advice).toMatchObject([{ change: "askSooner", to: 0.15, unit: "s" }]);
  const car = ask(pair(UNBRIDLED));
  // That car's full torque is never too little for that tyre: there is no speed above which the motor is the limit.
  expect(car.advice[0]).toMatchObject({ change: "askLater" });
});

test("thin, unlike, switched off or one-sided data is refused, each with what would help", () => {
  const one = ask([knownRun(1, CAUTIOUS)]);
  expect(one.advice).toEqual([]);
  expect(one.silent.join()).toContain("drive at least two");
  const unlike = ask([knownRun(1, CAUTIOUS, [], { conditions: { "changed slip target": "4 -> 6 %" } }), knownRun(2, CAUTIOUS)]);
  expect(unlike.advice).toEqual([]);
  expect(unlike.silent.join()).toContain("labels of their own");
  const off = ask(pair(UNBRIDLED, { measured: { tractionControlEnabled: 0 } }));
  expect(off.advice).toEqual([]);
  expect(off.silent.join()).toContain("switch was off");
  const why = "The peak was not reached: largest slip under full load 0.04; one run that allows 12 % would show it.";
  const short = ask(pair(CAUTIOUS), { curve: knownCurve({ bestSlip: null, peakFriction: null, why, largestSlip: 0.04 }) });
  expect(short.advice).toEqual([]);
  expect(short.silent.join()).toContain(why);
  const sloped = { flags: [{ flag: "slope", why: "The road falls." }] } as const;
  expect(ask(pair(CAUTIOUS, sloped, [90, 92])).advice).toEqual([]);
  const level = ask(pair(CAUTIOUS, {}, [90, 92]));
  expect(level.advice).toHaveLength(1);
  expect(level.silent.join()).toContain("one way");
});
