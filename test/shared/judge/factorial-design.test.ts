/**
 * Designs and regressions against the NIST/SEMATECH e-Handbook of Statistical Methods (public domain, itl.nist.gov/div898/handbook, read 2026-11):
 * 5.3.3.4.7 and Dataplot's design files for the fractions, 5.6.1 (eddy current probe, 2^3), 5.4.7.2 (catapult, 2^(5-1) with centre points),
 * 5.4.7.3 (a central composite design, two responses). Figures are the handbook's, to the digits that it prints.
 */
import { expect, test } from "vitest";
import { inscribedComposite, screeningDesign } from "../../../src/shared/judge/factorial-design.ts";
import { expectedDifference, fitResponse, type Term } from "../../../src/shared/judge/response-model.ts";

/** Dataplot 2TO4M1.DAT, 2TO5M1.DAT, 2TO6M2.DAT: one letter a factor, runs in standard order. */
const DATAPLOT: Readonly<Record<number, string>> = {
  4: "---- +--+ -+-+ ++-- --++ +-+- -++- ++++",
  5: "----+ +---- -+--- ++--+ --+-- +-+-+ -++-+ +++-- ---+- +--++ -+-++ ++-+- --+++ +-++- -+++- +++++",
  6: "------ +---+- -+--++ ++---+ --+-++ +-+--+ -++--- +++-+- ---+-+ +--+++ -+-++- ++-+-- --+++- +-++-- -+++-+ ++++++",
};

test.each([4, 5, 6])("the fraction for %i factors is Dataplot's, run by run", (factors) => {
  const signs = screeningDesign(factors).runs.map((run) => run.map((level) => (level < 0 ? "-" : "+")).join(""));
  expect(signs.join(" ")).toBe(DATAPLOT[factors]);
});

test("resolutions and mixed pairs are those that the handbook and Dataplot print", () => {
  expect([2, 3, 4, 5, 6, 7].map((k) => [screeningDesign(k).name, screeningDesign(k).resolution, screeningDesign(k).runs.length])).toEqual([
    ["2^2", null, 4],
    ["2^3", null, 8],
    ["2^(4-1)", 4, 8],
    ["2^(5-1)", 5, 16],
    ["2^(6-2)", 4, 16],
    ["2^(7-3)", 4, 16],
  ]);
  const words = (k: number) => screeningDesign(k).mixed.map((group) => group.map(([a, b]) => `${a + 1}${b + 1}`).join("+"));
  expect(words(4)).toEqual(["12+34", "13+24", "14+23"]);
  expect(words(5)).toEqual([]);
  expect(words(6)).toEqual(["12+35", "13+25", "14+56", "15+23+46", "16+45", "24+36", "26+34"]);
  expect(words(7)).toEqual(["12+35+67", "13+25+47", "14+37+56", "15+23+46", "16+27+45", "17+26+34", "24+36+57"]);
  expect(() => screeningDesign(8)).toThrow(RangeError);
});

test("the composite design is the handbook's inscribed one: 0.7071 and 1, every point but the centre on one circle", () => {
  const points = inscribedComposite(3);
  expect(points).toHaveLength(11);
  for (const [a, b] of points.slice(0, 8)) expect(Math.hypot(a, b)).toBeCloseTo(1, 12);
  // Dataplot's CC2.DAT is the same design circumscribed: star points at 1.414 of its corners.
  const scaled = points.slice(0, 8).map((point) => point.map((level) => (level * Math.SQRT2).toFixed(3)).join(" "));
  expect(scaled).toEqual([
    "-1.000 -1.000",
    "1.000 -1.000",
    "-1.000 1.000",
    "1.000 1.000",
    "-1.414 0.000",
    "1.414 0.000",
    "0.000 -1.414",
    "0.000 1.414",
  ]);
});

const MAINS = (k: number): Term[] => [[], ...Array.from({ length: k }, (_, i) => [i])];
const PAIRS = (k: number): Term[] =>
  Array.from({ length: k }, (_, a) => a).flatMap((a) => Array.from({ length: k - a - 1 }, (_, i) => [a, a + i + 1]));

test("e-Handbook 5.6.1: effects of the eddy current probe", () => {
  // The data of 5.6.1.1 in standard order, ohms.
  const ohms = [1.7, 4.57, 0.55, 3.39, 1.51, 4.59, 0.67, 4.29];
  const model = fitResponse(screeningDesign(3).runs, ohms, [...MAINS(3), ...PAIRS(3)]);
  const effect = (...term: number[]) => 2 * (model.terms.find((one) => String(one.term) === String(term))?.estimate as number);
  expect(model.terms[0]?.estimate).toBeCloseTo(2.65875, 10);
  expect(effect(0)).toBeCloseTo(3.1025, 10);
  expect(effect(1)).toBeCloseTo(-0.8675, 10);
  // One degree of freedom is left: standard deviation of an effect 0.1425, of the runs 0.20152531564, limits 1.8106349707.
  const main = model.terms[1];
  expect(model.scatter).toBeCloseTo(0.20152531564, 5);
  expect(2 * (main?.standardError as number)).toBeCloseTo(0.14249992371, 6);
  expect(2 * (main?.plusMinus95 as number)).toBeCloseTo(1.8106349707, 5);
});

/** Dataplot CATAPULT.DAT, Yates order, then the centre points: inches, and coded height, start, bands, length, stop. */
const CATAPULT: readonly (readonly [number, string])[] = [
  [28, "----+"],
  [35, "+----"],
  [8, "-+---"],
  [28.25, "++--+"],
  [33.5, "--+--"],
  [84, "+-+-+"],
  [36, "-++-+"],
  [28.5, "+++--"],
  [33, "---+-"],
  [85, "+--++"],
  [45, "-+-++"],
  [36.5, "++-+-"],
  [106, "--+++"],
  [126.5, "+-++-"],
  [45, "-+++-"],
  [126.5, "+++++"],
  [99, "00+00"],
  [45, "00-00"],
  [84.5, "00+00"],
  [37.5, "00-00"],
];

test("e-Handbook 5.4.7.2: the catapult's sixteen terms, standard errors and scatter", () => {
  const levels = CATAPULT.map(([, signs]) => [...signs].map((sign) => (sign === "+" ? 1 : sign === "-" ? -1 : 0)));
  const model = fitResponse(
    levels,
    CATAPULT.map(([inches]) => inches),
    [...MAINS(5), ...PAIRS(5)],
  );
  // Height, start, bands, length, stop; then the pairs hs hb hl he sb sl se bl be le.
  const printed = [
    57.5375, 13.4844, -11.0781, 19.4125, 20.1406, 12.0469, -2.7656, 4.6406, 4.7031, 0.1094, -3.1719, -1.1094, 2.6719, 7.6094, 2.8281,
    3.1406,
  ];
  expect(model.terms.map(({ estimate }) => Number(estimate.toFixed(4)))).toEqual(printed);
  expect(model.terms.map(({ standardError }) => (standardError as number).toFixed(4)).slice(0, 4)).toEqual([
    "2.9691",
    "3.3196",
    "3.3196",
    "2.9691",
  ]);
  expect(model.scatter?.toFixed(2)).toBe("13.28");
  expect(model.degrees).toBe(4);
});

/** e-Handbook 5.4.7.3: coded pressure and ratio, uniformity %. */
const COMPOSITE: readonly (readonly [number, number, number])[] = [
  [1, 0, 4.6],
  [0, 0, 6.2],
  [0.71, -0.71, 3.4],
  [-0.71, 0.71, 6.9],
  [-1, 0, 7.3],
  [0, 0, 6.4],
  [-0.71, -0.71, 8.6],
  [0, -1, 6.3],
  [0.71, 0.71, 5.1],
  [0, 1, 5.4],
  [0, 0, 5],
];
const uniformity = (terms: readonly Term[]) =>
  fitResponse(
    COMPOSITE.map(([a, b]) => [a, b]),
    COMPOSITE.map(([, , percent]) => percent),
    terms,
  );

test("e-Handbook 5.4.7.3: the full quadratic model of a composite design, and the smaller one with its pure error", () => {
  const full = uniformity([[], [0], [1], [0, 1], [0, 0], [1, 1]]);
  expect(full.terms.map(({ estimate }) => estimate.toFixed(5))).toEqual([
    "5.86613",
    "-1.90967",
    "-0.22408",
    "1.68617",
    "0.13373",
    "0.03373",
  ]);
  expect(full.terms.map(({ standardError }) => (standardError as number).toFixed(5))).toEqual([
    "0.41773",
    "0.36103",
    "0.36103",
    "0.71766",
    "0.60733",
    "0.60733",
  ]);
  expect(full.scatter?.toFixed(4)).toBe("0.7235");
  expect(full.explained?.toFixed(4)).toBe("0.8716");
  const small = uniformity([[], [0], [1], [0, 1]]);
  expect(small.terms.map(({ estimate }) => estimate.toFixed(4))).toEqual(["5.9273", "-1.9097", "-0.2241", "1.6862"]);
  expect(small.scatter?.toFixed(4)).toBe("0.6145");
  expect(small.pureError.degrees).toBe(2);
  expect(small.pureError.sumOfSquares.toFixed(4)).toBe("1.1467");
  expect(small.residualSumOfSquares.toFixed(3)).toBe("2.643");
});

test("an expected difference has the variance of its own contrast", () => {
  const model = uniformity([[], [0], [1], [0, 1]]);
  const { value, plusMinus95 } = expectedDifference(model, [0, 0], [1, 0]);
  expect(value).toBeCloseTo(model.terms[1]?.estimate as number, 10);
  expect(plusMinus95).toBeCloseTo(model.terms[1]?.plusMinus95 as number, 10);
});

test("blocks take their own level out, exactly", () => {
  const { runs } = screeningDesign(3);
  const day = runs.map((_, i) => (i < 3 ? 0 : 1));
  const response = runs.map(([a = 0, b = 0, c = 0], i) => 5 - 0.2 * a + 0.05 * b + 0.01 * c + 0.7 * (day[i] as number));
  const { terms } = fitResponse(runs, response, MAINS(3), day);
  expect(terms.map(({ estimate }) => Number(estimate.toFixed(9)))).toEqual([5, -0.2, 0.05, 0.01]);
});
