/** The launch's curve against closed forms by hand: piecewise constant push, v = v0 + a t within each piece. */
import { expect, test } from "vitest";
import { curveAt, layOut } from "../../../src/shared/launch/launch-curve.ts";
import type { FitInput } from "../../../src/shared/launch/launch-fit.ts";
import { GRID_S, torqueModel } from "../../../src/shared/launch/launch-model.ts";

const COUNT = 200;
const START = 50;
const ANCHOR = 120;

/** A 1000 kg car whose torque is its force per mass: 1 m radius, gear 1, 1000 Nm give 1 m/s2; nothing resists. */
function curveOf(pushMps2: (i: number) => number, anchorMps: number) {
  const model = torqueModel({ fromS: 0, count: COUNT }, ANCHOR * GRID_S, anchorMps, {
    unheard: [],
    torqueNm: Float64Array.from({ length: COUNT }, (_, i) => 1000 * pushMps2(i)),
    wheelRadps: null,
    massKg: 1000,
    gearRatio: 1,
    radiusM: 1,
    wheelInertiaKgM2: null,
    dragAreaM2: null,
  });
  const input = { model, sensors: [], onsetS: START * GRID_S } as unknown as FitInput;
  const layout = layOut(input);
  const theta = new Float64Array(layout.total);
  // anchor, gain, resistance, drag, inertia, torqueDelay
  theta.set([anchorMps, 1, 0, 0, 1, 0]);
  return curveAt(input, layout, theta);
}

/** Sum over the grid's straight lines, as the model integrates. */
const speedAt = (push: (i: number) => number, to: number) => {
  let v = 0;
  for (let i = START; i < to; i += 1) v += ((push(i) + push(i + 1)) / 2) * GRID_S;
  return v;
};

test("a control that cuts the torque in the first metre pauses the push; the car rolls on and began to move before", () => {
  // 3 m/s2 for 0.1 s, 0.08 s without any torque, then 3 m/s2.
  const push = (i: number) => (i <= START || (i > 60 && i < 69) ? 0 : 3);
  const { speed, idle, lowMps } = curveOf(push, speedAt(push, ANCHOR));
  expect(idle).toBe(START);
  expect(lowMps).toBeCloseTo(0, 9);
  for (const i of [51, 55, 60, 65, 70, 100]) expect(speed[i]).toBeCloseTo(speedAt(push, i), 9);
  // By hand: 0.1 s at 3 m/s2 within a grid step's rounding.
  expect(speed[64]).toBeCloseTo(0.3, 1);
});

test("a push of some tenths of a second before is another one: the car stood in between", () => {
  const push = (i: number) => ((i > 20 && i < 30) || i > START ? 3 : 0);
  const { speed, idle } = curveOf(push, speedAt(push, ANCHOR));
  expect(idle).toBe(START);
  expect(speed[40]).toBe(0);
});

test("torque's noise on a standing car is no push", () => {
  const push = (i: number) => (i > START ? 3 : i % 2 === 0 ? 0.02 : -0.02);
  const { idle } = curveOf(push, speedAt(push, ANCHOR));
  expect(idle).toBeGreaterThanOrEqual(START - 1);
});
