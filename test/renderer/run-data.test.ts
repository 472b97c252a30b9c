/** The run's columns as the figures read them, and the window that zoom and pan move. */
import fc from "fast-check";
import { expect, test } from "vitest";
import type { RunView } from "../../src/shared/contract/contract.ts";
import { differenceWords, secondsAhead } from "../../src/renderer/pages/runs/run-difference.ts";
import { alignedAt, sharedGates } from "../../src/renderer/pages/runs/overlay-align.ts";
import { createReader, overlayColumns } from "../../src/renderer/pages/runs/cursor-reading.ts";
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

/** Two launches of constant acceleration: v = a t, so b is ahead at speed v by v / a1 - v / a2 exactly. */
const constant = (id: number, kmhPerS: number, seconds: number | null) =>
  createRunData(
    {
      run: { uid: `${id}`, id },
      gates: [{ gate: "0-60 mph", start: "movement", seconds, plusMinus95: 0.01, atS: 9 }],
    } as unknown as RunView,
    { names: ["timeS", "groundSpeedKmh"], units: ["s", "km/h"], columns: [timeS, timeS.map((t) => Math.max(0, t * kmhPerS))] },
  );

test("secondsAhead() is the difference in time at equal speed", () => {
  const [quick, slow] = [constant(8, 25, 3.86), constant(4, 20, 4.83)];
  const ahead = secondsAhead(quick, slow);
  for (const t of [0.5, 2, 4]) expect(ahead[quick.rowAt(t)]).toBeCloseTo((t * 25) / 20 - t, 4);
  expect(secondsAhead(slow, quick)[slow.rowAt(4)]).toBeCloseTo((4 * 20) / 25 - 4, 4);
  // A speed that the other never had cannot be compared.
  expect(secondsAhead(quick, slow)[quick.rowAt(7.5)]).toBeNaN();
});

test("differenceWords() says who is ahead at 60 mph, or that it cannot be said", () => {
  expect(differenceWords(constant(8, 25, 4.42), constant(4, 20, 5.05))).toBe("Run 8 is 0.63 s ahead of run 4 at 60 mph.");
  expect(differenceWords(constant(4, 20, 5.05), constant(8, 25, 4.42))).toBe("Run 4 is 0.63 s behind run 8 at 60 mph.");
  expect(differenceWords(constant(4, 20, 5.05), constant(8, 25, null))).toContain("run 8 did not reach 60 mph");
});

test("alignedAt() lays two runs over each other at a gate that both passed; there the difference is nothing", () => {
  const [quick, slow] = [constant(8, 25, 96.56064 / 25), constant(4, 20, 96.56064 / 20)];
  expect(sharedGates(quick, slow)).toEqual(["0-60 mph"]);
  expect(sharedGates(quick, constant(5, 20, null))).toEqual([]);
  const { runS, referenceS } = alignedAt(quick, slow, "0-60 mph");
  const ahead = secondsAhead(quick, slow, runS - referenceS);
  expect(ahead[quick.rowAt(runS)]).toBeCloseTo(0, 2);
  expect(alignedAt(quick, slow, null)).toEqual({ runS: 0, referenceS: 0 });
  expect(alignedAt(quick, slow, "0-100 mph")).toEqual({ runS: 0, referenceS: 0 });
});

/** Constant acceleration again, with 30 and 60 mph at their times. */
const timed = (id: number, kmhPerS: number) =>
  createRunData(
    {
      run: { uid: `${id}`, id },
      gates: [48.28032, 96.56064].map((kmh, i) => ({ gate: ["0-30 mph", "0-60 mph"][i], start: "movement", seconds: kmh / kmhPerS })),
    } as unknown as RunView,
    {
      names: ["timeS", "groundSpeedKmh", "batteryVoltage"],
      units: ["s", "km/h", "V"],
      columns: [timeS, timeS.map((t) => Math.max(0, t * kmhPerS)), timeS.map((t) => 400 - id - t)],
    },
  );

test("differenceWords() of runs aligned at a gate is what was gained from there on, and names the gate", () => {
  const [quick, slow] = [timed(8, 25), timed(4, 20)];
  // 48.28 km/h more at 25 and at 20 km/h a second: 1.93 and 2.41 s.
  expect(differenceWords(quick, slow, "0-30 mph")).toBe("From 30 mph on, run 8 is 0.48 s ahead of run 4 at 60 mph.");
  expect(differenceWords(quick, slow, "0-60 mph")).toBe("Run 8 over run 4, aligned at 60 mph, the last gate that both passed.");
});

test("createReader() reads the run, its further line, and the other run where the alignment puts it", () => {
  const [quick, slow] = [timed(8, 25), timed(4, 20)];
  const read = createReader();
  const row = quick.rowAt(3);
  expect(read(quick, row, 3, null, null)).toMatchObject({ row, line: null, over: null });
  const { line, over } = read(quick, row, 3, "batteryVoltage", { data: slow, shiftS: 0, axis: slow.timeS });
  expect(line).toMatchObject({ name: "Battery voltage", unit: "V" });
  expect(line?.value).toBeCloseTo(389, 3);
  expect(line?.under).toBeCloseTo(393, 3);
  // At 75 km/h: 3 s against 3.75.
  expect(over?.aheadS).toBeCloseTo(0.75, 3);
  expect(slow.timeS[over?.row as number]).toBeCloseTo(3, 5);
  // Laid half a second later, what stands there is the other run half a second earlier.
  const later = read(quick, row, 3, null, { data: slow, shiftS: 0.5, axis: slow.timeS.map((t) => t + 0.5) }).over;
  expect(slow.timeS[later?.row as number]).toBeCloseTo(2.5, 5);
  const { names, columns } = overlayColumns(quick, quick.timeS, { data: slow, shiftS: 0, axis: slow.timeS });
  expect(names.map(({ name }) => name)).toEqual(["run4GroundSpeedKmh", "aheadOfRun4S"]);
  expect(columns[0]?.[row]).toBeCloseTo(60, 3);
  expect(columns[1]?.[row]).toBeCloseTo(0.75, 3);
});
