/** Swings against the damped oscillator in closed form: x = exp(-zeta w t) cos(w sqrt(1 - zeta^2) t) (any textbook of vibrations). */
import { expect, test } from "vitest";
import { swingsOf } from "../../../src/shared/tune/swings.ts";

const ROW_S = 0.01;
const column = (hz: number, damping: number, seconds: number) => {
  const free = (2 * Math.PI * hz) / Math.sqrt(1 - damping ** 2);
  return Float64Array.from(
    { length: seconds / ROW_S },
    (_, i) => 2 * Math.exp(-damping * free * i * ROW_S) * Math.cos(2 * Math.PI * hz * i * ROW_S),
  );
};

test.each([
  [1.3, 0, 4],
  [3, 0.02, 3],
  [5, 0.08, 2],
  [8, 0.05, 2],
])("swingsOf() finds %f Hz and a damping of %f", (hz, damping, seconds) => {
  const swings = swingsOf(column(hz, damping, seconds), ROW_S, 0.05);
  expect(swings?.hz).toBeCloseTo(hz, 1);
  expect(Math.abs((swings?.damping ?? Number.NaN) - damping)).toBeLessThan(0.01);
});

test("swingsOf() calls what dies within two swings, and noise, no swings", () => {
  expect(swingsOf(column(4, 0.6, 2), ROW_S, 0.05)).toBeNull();
  expect(
    swingsOf(
      column(4, 0, 2).map((x) => 0.02 * x),
      ROW_S,
      0.05,
    ),
  ).toBeNull();
});
