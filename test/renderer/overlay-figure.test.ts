/** Lines and their names read back from the drawing: the word beside a line is that line's, whichever of two lies above the other. */
import fc from "fast-check";
import { expect, test } from "vitest";
import type { RunView } from "../../src/shared/contract/contract.ts";
import { createRunData } from "../../src/renderer/pages/runs/run-data.ts";
import { paintFigure } from "../../src/renderer/pages/runs/open-seam.ts";
import { paintOverlay } from "../../src/renderer/pages/runs/overlay-figure.ts";
import { svgFile } from "../../src/shared/draw/svg-pen.ts";
import { textWidth } from "../../src/shared/draw/text-width.ts";
import { KMH_AND_M } from "../../src/shared/kernel/shown-units.ts";

const PALETTE = { sheet: "#fff", panel: "#fff", ink: "#000", ink2: "#333", rule: "#666", slip: "#a30", held: "#05a", sun: false };
const timeS = Float32Array.from({ length: 800 }, (_, i) => -1 + i / 100);

/** A launch of constant acceleration: the quicker is the upper line at every time after the start. */
const launch = (id: number, kmhPerS: number) =>
  createRunData({ run: { uid: `${id}`, id }, gates: [] } as unknown as RunView, {
    names: ["timeS", "groundSpeedKmh"],
    units: ["s", "km/h"],
    columns: [timeS, timeS.map((t) => Math.max(0, t * kmhPerS))],
  });

/** Words of a drawing, the highest first. */
function wordsFromAbove(svg: string, which: RegExp): string[] {
  const words = [...svg.matchAll(/<text [^>]*y="([\d.]+)"[^>]*fill="#000"[^>]*>([^<]+)<\/text>/g)];
  const found = words.map(([, y, text]) => ({ y: Number(y), text: text as string })).filter(({ text }) => which.test(text));
  return found.sort((a, b) => a.y - b.y).map(({ text }) => text);
}

/** Runs named in the drawing, the upper word first. */
function namedFromAbove(over: number, under: number): string[] {
  const [data, reference] = [launch(12, over), launch(9, under)];
  const svg = svgFile({ width: 900, height: 420, title: "", textWidth }, PALETTE.sheet, ({ pen }) =>
    paintOverlay(
      pen,
      {
        data,
        axis: data.timeS,
        reference: { data: reference, axis: reference.timeS, shiftS: 0 },
        from: 0,
        to: 5,
        unit: "s",
        fontPx: 20,
        uprights: [64],
      },
      { width: 820, top: 32, bottom: 390 },
      PALETTE,
    ),
  );
  return wordsFromAbove(svg, /^run \d+$/);
}

test("the upper word names the run that is faster there, and the lower word the slower, whichever was laid over the other", () => {
  const accelerations = fc.double({ min: 8, max: 30, noNaN: true });
  fc.assert(
    fc.property(accelerations, accelerations, (over, under) => {
      fc.pre(Math.abs(over - under) > 0.05);
      expect(namedFromAbove(over, under)).toEqual(over > under ? ["run 12", "run 9"] : ["run 9", "run 12"]);
    }),
    { numRuns: 40 },
  );
});

/** One run of constant acceleration with this slip, and torques that differ by this much, as the open seam names its lines. */
function namedLines(slipKmh: number, heldNm: number): string[] {
  const constant = (value: number) => timeS.map(() => value);
  const data = createRunData({ run: { uid: "u", id: 1 }, gates: [] } as unknown as RunView, {
    names: ["timeS", "groundSpeedKmh", "wheelSpeedKmh", "torqueRequestNm", "torqueDeliveredNm"],
    units: ["s", "km/h", "km/h", "Nm", "Nm"],
    columns: [
      timeS,
      timeS.map((t) => Math.max(0, t * 20)),
      timeS.map((t) => Math.max(0, t * 20 + slipKmh)),
      constant(250),
      constant(250 - heldNm),
    ],
  });
  const plan = {
    data,
    reference: null,
    axis: data.timeS,
    from: 0,
    to: 5,
    unit: "s",
    open: true,
    fontPx: 20,
    gates: [],
    moments: [],
    marks: [],
  } as const;
  const svg = svgFile({ width: 900, height: 420, title: "", textWidth }, PALETTE.sheet, (surface) =>
    paintFigure(surface, { ...plan, scales: { slipKmh: 25, heldNm: 120, units: KMH_AND_M } }, PALETTE),
  );
  return wordsFromAbove(svg, /^(wheel|ground|asked|delivered)$/);
}

test("driving, the wheel is named above the ground and what is delivered above what is asked; braking and overrunning, the other way round", () => {
  fc.assert(
    fc.property(fc.double({ min: 2, max: 20, noNaN: true }), fc.double({ min: 10, max: 90, noNaN: true }), (slip, held) => {
      expect(namedLines(slip, held)).toEqual(["wheel", "ground", "delivered", "asked"]);
      expect(namedLines(-slip, -held)).toEqual(["ground", "wheel", "asked", "delivered"]);
    }),
    { numRuns: 20 },
  );
});
