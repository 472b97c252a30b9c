/** The run's columns as the figures read them, and the window that zoom and pan move. */
import fc from "fast-check";
import { expect, test } from "vitest";
import type { RunView } from "../../src/shared/contract/contract.ts";
import { createRunData, launchWindow, wholeWindow, zoom } from "../../src/renderer/pages/runs/run-data.ts";

const view = {
  run: { uid: "u" },
  gates: [{ gate: "0-60 mph", start: "movement", seconds: 4.4, plusMinus95: 0.01, atS: 9 }],
} as unknown as RunView;
const timeS = Float32Array.from({ length: 1300 }, (_, i) => -5 + i / 100);
const torque = (value: number) => timeS.map(() => value);
const data = createRunData(view, {
  names: ["timeS", "torqueRequestNm", "torqueDeliveredNm"],
  units: ["s", "Nm", "Nm"],
  columns: [timeS, torque(100), torque(60)],
});

test("createRunData() reads a column that is not there as unknown throughout", () => {
  expect(data.column("batteryVoltage")).toHaveLength(1300);
  expect(data.column("batteryVoltage").every(Number.isNaN)).toBe(true);
  expect(data.seam.heldNm[0]).toBe(40);
});

test("rowAt() finds the sample at or just before a time", () => {
  for (const [time, row] of [
    [-9, 0],
    [-5, 0],
    [0, 500],
    [0.019, 501],
    [99, 1299],
  ] as const)
    expect(data.rowAt(time)).toBe(row);
});

test("launchWindow() shows the launch, zoom() never leaves the run and keeps its place", () => {
  expect(launchWindow(data)).toEqual({ fromS: -0.3, toS: 5 });
  const whole = wholeWindow(data);
  fc.assert(
    fc.property(
      fc.array(fc.record({ share: fc.double({ min: 0, max: 1, noNaN: true }), factor: fc.double({ min: 0.2, max: 5, noNaN: true }) }), {
        maxLength: 20,
      }),
      (steps) => {
        let window = launchWindow(data);
        for (const { share, factor } of steps) {
          window = zoom(window, window.fromS + share * (window.toS - window.fromS), factor, whole);
          expect(window.fromS).toBeGreaterThanOrEqual(whole.fromS - 1e-9);
          expect(window.toS).toBeLessThanOrEqual(whole.toS + 1e-9);
          expect(window.toS - window.fromS).toBeGreaterThanOrEqual(0.05 - 1e-9);
        }
      },
    ),
  );
});
