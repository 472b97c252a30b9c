/** Sources: the design's worked example and JSON; the look's "Numbers in the pictures" and wording; Holm 1979 (from memory); least squares against SciPy/NumPy. */
import { describe, expect, test } from "vitest";
import { UNARMED } from "../../../src/shared/run/unarmed.ts";
import { compare, compareGroups, holm } from "../../../src/shared/judge/compare.ts";
import { CompareError, type CompareInput } from "../../../src/shared/judge/compare-pair.ts";
import type { JudgedRun } from "../../../src/shared/judge/judged-run.ts";
import { drivenDay, judgedRun } from "./judged-run.fixture.ts";
import { runScipy } from "./scipy.ts";

const OFF = [5.0, 5.05, 5.11, 5.4];
const ON = [4.35, 4.42, 4.46, 4.51];
const asked = (runs: readonly JudgedRun[], more: Partial<CompareInput> = {}): CompareInput => ({
  gate: "0-60 mph",
  start: "movement",
  groups: ["off", "on"],
  runs,
  plan: null,
  ...more,
});
const fourAndFour = drivenDay(["off", "on"], [0, 1, 1, 0, 0, 1, 1, 0], OFF, ON);
const LOOK_ORDER = [0, 1, 1, 0, 1, 0, 0, 1, 0, 1, 1, 0];
const sixAndSix = drivenDay(["off", "on"], LOOK_ORDER, [5.0, 5.05, 5.08, 5.02, 5.11, 5.4], [4.35, 4.4, 4.46, 4.42, 4.48, 4.51]);
const plan = (orders: "any" | "balanced" = "any") => ({
  design: { groups: ["off", "on"], runsPerGroup: 6, directions: 2 as const, orders },
  order: LOOK_ORDER,
  slots: sixAndSix.map((run) => run.id),
  seed: 1,
});
const change = (runs: readonly JudgedRun[], id: number, more: Partial<JudgedRun>) =>
  runs.map((run) => (run.id === id ? { ...run, ...more } : run));

describe("compare()", () => {
  test("gives the design's worked example to the digit, and its sentence", () => {
    const result = compare(asked(fourAndFour));
    expect(result).toMatchObject({
      gate: "0-60 mph",
      start: "movement",
      a: { label: "off", values: OFF, runs: [1, 4, 5, 8], best: 5.0, median: 5.08 },
      b: { label: "on", values: ON, runs: [2, 3, 6, 7], best: 4.35, median: 4.44 },
      used: 8,
      setAside: [],
      bestDifference: -0.65,
      hodgesLehmann: -0.65,
      interval: { low: -1.05, high: -0.49 },
      permutation: { assignments: 70, extreme: 2 },
      asPlanned: null,
    });
    expect(result.interval?.coverage.toFixed(3)).toBe("0.971");
    expect(result.permutation?.pTwoSided.toFixed(4)).toBe("0.0286");
    expect(result.permutation?.smallestPossibleP.toFixed(4)).toBe("0.0286");
    expect(result.verdict).toBe(
      "0.65 s quicker, 0.49 to 1.05 s (97 %); if the setting did nothing, chance alone would give a difference this large in 2 of 70 orders.",
    );
    expect(result.headline).toBe("on is 0.65 s quicker than off, 0-60 mph.");
  });

  test("names the start where it is not movement: the same gate has other seconds from 1 ft", () => {
    expect(compare(asked(fourAndFour, { start: "1 ft" })).headline).toBe("on is 0.65 s quicker than off, 0-60 mph from 1 ft.");
    expect(compare(asked([judgedRun(1, "off", 5), judgedRun(2, "on", 4)], { start: "1 ft" })).headline).toContain("0-60 mph from 1 ft");
  });

  test("a plan for another day, none of whose slots is among these runs, is no plan here", () => {
    const result = compare(asked(sixAndSix, { plan: { ...plan(), slots: plan().slots.map(() => null) } }));
    const words = result.warnings.join();
    expect(words).toContain("no drawn order: the chance assumes");
    expect(words).not.toMatch(/planned runs are not in|outside the plan|decide nothing here/);
  });

  test("gives the look's day: 2 of 400 planned orders, drift 0.023 s a run", () => {
    const result = compare(asked(sixAndSix, { plan: plan() }));
    expect(result.asPlanned).toMatchObject({ arrangements: 400, extreme: 2, pTwoSided: 0.005, smallestPossibleP: 0.005 });
    expect(result.interval).toMatchObject({ low: -0.89, high: -0.54 });
    expect(result.drift?.perRun.toFixed(3)).toBe("0.023");
    expect(result.drift?.adjustedDifference.toFixed(2)).toBe("-0.67");
    expect(result.verdict).toContain("in 2 of the 400 orders that this plan could have drawn");
    expect(compare(asked(sixAndSix, { plan: plan("balanced") })).asPlanned?.arrangements).toBe(380);
  });

  test("drift agrees with NumPy's least squares and SciPy's t", () => {
    const program = `
p = np.array(data['p']); g = np.array(data['g']); y = np.array(data['y'])
X = np.c_[np.ones(len(y)), g, p]; b = np.linalg.lstsq(X, y, rcond=None)[0]; df = len(y) - 3
v = ((y - X @ b) ** 2).sum() / df * np.linalg.inv(X.T @ X); t = stats.t.ppf(.975, df)
print(json.dumps([b[2], t * v[2, 2] ** .5, b[1], b[1] - t * v[1, 1] ** .5, b[1] + t * v[1, 1] ** .5]))`;
    const expected = runScipy<number[]>(program, {
      p: sixAndSix.map((run) => run.id),
      g: LOOK_ORDER,
      y: sixAndSix.map((run) => run.seconds),
    });
    if (!expected) return;
    const drift = compare(asked(sixAndSix)).drift;
    const ours = [drift?.perRun, drift?.perRunPlusMinus95, drift?.adjustedDifference, drift?.low, drift?.high];
    expected.forEach((value, i) => {
      expect(ours[i]).toBeCloseTo(value, 9);
    });
    expect(compare(asked(fourAndFour)).drift).toBeNull();
  });

  test("runs of several days have no drift, whatever they are compared within: no line runs through a night", () => {
    const days = (second: string) => sixAndSix.map((run) => ({ ...run, day: run.id <= 6 ? "2031-05-04" : second }));
    expect(compare(asked(days("2031-05-04"))).drift).not.toBeNull();
    expect(compare(asked(days("2031-09-04"), { by: [] })).drift).toBeNull();
  });

  test("says no difference is shown when the interval holds 0, and cannot tell with three and three", () => {
    const none = compare(asked(drivenDay(["off", "on"], [0, 1, 1, 0, 0, 1, 1, 0], [5.0, 5.1, 5.2, 5.3], [5.01, 5.11, 5.16, 5.28])));
    expect(none.verdict).toMatch(/^no difference shown; from 0\.\d\d s slower to 0\.\d\d quicker \(97 %\); if the setting did nothing/);
    expect(none.headline).toBe("No difference shown between off and on, 0-60 mph.");
    const three = compare(asked(drivenDay(["off", "on"], [0, 1, 1, 0, 1, 0], [5.0, 5.1, 5.2], [4.0, 4.1, 4.2])));
    expect(three.verdict).toMatch(/^cannot tell: three and three never reach 1 in 20, 2 of 20 orders at best; so far 1\.00 s quicker/);
    expect(three.warnings).toContain("too few runs: three and three never reach 1 in 20");
    expect(three.interval?.coverage).toBeCloseTo(0.9, 12);
  });

  test("the planned interval is the planned test turned round: shifting b by its ends crosses 5 %", () => {
    const result = compare(asked(sixAndSix, { plan: plan() }));
    const { low, high, coverage } = result.asPlanned?.interval ?? { low: Number.NaN, high: Number.NaN, coverage: Number.NaN };
    expect(coverage).toBe(0.95);
    const pAfter = (shift: number) => {
      const runs = sixAndSix.map((run) => (run.label === "on" ? { ...run, seconds: (run.seconds as number) - shift } : run));
      return compare(asked(runs, { plan: plan() })).asPlanned?.pTwoSided as number;
    };
    for (const [inside, outside] of [
      [low + 1e-4, low - 1e-4],
      [high - 1e-4, high + 1e-4],
    ] as const) {
      expect(pAfter(inside)).toBeGreaterThan(0.05);
      expect(pAfter(outside)).toBeLessThanOrEqual(0.05);
    }
  });

  test("words agree with the chance that decides when directions alone widen the plain interval", () => {
    // Both groups lose 0.4 s on the way back; within one direction "on" is clearly 0.2 s quicker.
    const seconds = LOOK_ORDER.map((group, i) => 5 + (i % 2) * 0.4 - group * 0.2 + [0.01, 0.03, 0.02, 0.05, 0.04, 0.0][i >> 1]!);
    const runs = LOOK_ORDER.map((group, i) => judgedRun(i + 1, group === 0 ? "off" : "on", seconds[i]));
    const result = compare(asked(runs, { plan: plan() }));
    expect(result.interval?.high).toBeGreaterThan(0);
    expect(result.asPlanned?.pTwoSided).toBeLessThanOrEqual(0.05);
    expect(result.verdict).toMatch(/^0\.2\d s quicker, .* \(95 %, over the planned orders\); /);
  });

  test("counts every labelled run unless set aside, shows both figures, and says when the time was seen", () => {
    const runs = change(fourAndFour, 8, { use: false, note: "missed the start", setAsideAfterTimeSeen: true });
    const result = compare(asked(runs));
    expect(result.used).toBe(7);
    expect(result.setAside).toEqual([{ run: 8, label: "off", seconds: 5.4, why: "missed the start", afterTimeSeen: true }]);
    expect(result.withAllRuns).toMatchObject({ used: 8, hodgesLehmann: -0.65, permutation: { assignments: 70 } });
    expect(result.permutation?.assignments).toBe(35);
    expect(result.warnings).toContain("run 8 was set aside after its time was seen: missed the start");
  });

  test("runs that nobody armed for are one warning, and nobody is said to have seen their times first", () => {
    const unarmed = { use: false, note: UNARMED, setAsideAfterTimeSeen: null };
    const runs = change(change(fourAndFour, 8, unarmed), 3, unarmed);
    const { warnings, setAside } = compare(asked(runs));
    expect(setAside).toMatchObject([{ unarmed: true }, { unarmed: true }]);
    expect(warnings.filter((warning) => /set aside/.test(warning))).toEqual([
      "runs 3 and 8 were driven without being armed, and set aside when stored: use again what was meant as a run",
    ]);
  });

  test("several runs are spoken of as several, lowest first", () => {
    const extra = compare(asked([...sixAndSix, judgedRun(14, "on", 4.4), judgedRun(13, "on", 4.5)], { plan: plan() }));
    expect(extra.warnings.join()).toContain("runs 13 and 14 lie outside the plan");
    const open = fourAndFour.map((run) => (run.id < 4 ? { ...run, final: false } : run));
    expect(compare(asked(open)).warnings.join()).toContain("runs 1, 2 and 3 are provisional");
  });

  test("a flag alone sets nothing aside", () => {
    const runs = change(fourAndFour, 4, { flags: [{ flag: "slope", why: "climbs 3 m" }] });
    expect(compare(asked(runs)).used).toBe(8);
    expect(compare(asked(runs)).warnings.join()).toContain("flagged and in use: run 4 (slope)");
  });

  test("a set-aside run leaves its slot empty in every planned order, and a relabelled one is said", () => {
    const aside = compare(asked(change(sixAndSix, 12, { use: false }), { plan: plan() }));
    expect(aside.asPlanned?.arrangements).toBe(400);
    expect(aside.asPlanned?.pTwoSided).toBeGreaterThanOrEqual(2 / 400);
    const moved = compare(asked(change(sixAndSix, 1, { label: "on" }), { plan: plan() }));
    expect(moved.warnings.join()).toContain("run 1 carries another label");
    const open = compare(asked(sixAndSix.slice(0, 10), { plan: { ...plan(), slots: [...plan().slots.slice(0, 10), null, null] } }));
    expect(open.warnings.join()).toContain("2 of 12 planned runs are not in");
    const extra = compare(asked([...sixAndSix, judgedRun(13, "on", 4.4)], { plan: plan() }));
    expect(extra.used).toBe(13);
    expect(extra.warnings.join()).toContain("run 13 lies outside the plan");
  });

  test("adds to the interval only what differs between the groups' measurement", () => {
    const same = compare(asked(fourAndFour.map((run) => ({ ...run, plusMinus95: 0.5 }))));
    expect(same.interval).toMatchObject({ low: -1.05, high: -0.49 });
    const apart = compare(asked(fourAndFour.map((run) => (run.label === "on" ? { ...run, calibrationId: 2 } : run))));
    expect(apart.measurementBetweenGroups?.plusMinus).toBeCloseTo(0.012 * Math.SQRT2, 12);
    expect(apart.interval?.low).toBeCloseTo(-1.05 - 0.012 * Math.SQRT2, 8);
    const mixed = compare(asked(fourAndFour.map((run, i) => ({ ...run, calibrationId: i < 4 ? 1 : 2 }))));
    expect(mixed.measurementBetweenGroups).toBeNull();
  });

  test.each<[string, (run: JudgedRun) => Partial<JudgedRun>, RegExp]>([
    [
      "charge",
      (run) => ({ measured: { stateOfCharge: run.label === "on" ? 60 : 80 } }),
      /unequal charge: on average 80\.0 % in off, 60\.0 % in on/,
    ],
    ["temperature", (run) => ({ measured: { batteryTemperature: run.label === "on" ? 35 : 28 } }), /unequal battery temperature/],
    [
      "surface",
      (run) => ({ conditions: { surface: run.label === "on" ? "dry" : "wet" } }),
      /unequal surface: wet 4 times in off, dry 4 times in on/,
    ],
    [
      "directions",
      (run) => ({ courseDeg: run.label === "on" ? 74 : 254 }),
      /unequal directions: 4 of 4 runs of off went west \(254°\), 0 of 4 of on/,
    ],
    [
      "controller changes",
      (run) => ({ conditions: run.label === "on" ? { "changed slip target": "8 -> 6 %" } : {} }),
      /changed in the controller: slip target 8 -> 6 % before run \d+(, \d+){3} \(on\)/,
    ],
    ["order", (run) => ({ drivenAt: run.label === "on" ? 100 + run.id : run.id }), /off was driven wholly before on/],
    [
      "receiver",
      () => ({ flags: [{ flag: "slowReceiver", why: "The receiver gives 1.0 Hz" }] }),
      /below 5 Hz: such times should not be compared/,
    ],
    ["provisional", () => ({ final: false }), /provisional/],
    ["switch", (run) => ({ measured: { tractionControlEnabled: run.id < 3 ? 1 : 0 } }), /own switch was on in some runs/],
  ])("names unequal %s", (_, more, words) => {
    expect(compare(asked(fourAndFour.map((run) => ({ ...run, ...more(run) })))).warnings.join("\n")).toMatch(words);
    expect(compare(asked(fourAndFour)).warnings.join("\n")).not.toMatch(words);
  });

  test("names a receiver once with all its calibrations, after what is not in the interval already", () => {
    const runs = fourAndFour.map((run, i) => ({
      ...run,
      receiver: "receiver",
      calibrationId: [1, 1, 2, 1, 4, 1, 1, 1][i],
      flags: [{ flag: "pedal" as const, why: "eased" }],
    }));
    const { warnings } = compare(asked(runs));
    const at = warnings.findIndex((warning) => warning.includes("was timed with"));
    expect(warnings[at]).toMatch(/off was timed with receiver, calibrations 1 and 4, on with receiver, calibrations 1 and 2: up to/);
    expect(at).toBeGreaterThan(warnings.findIndex((warning) => warning.startsWith("flagged and in use")));
  });

  test("warns of best of n, more so with unequal tries", () => {
    expect(compare(asked(fourAndFour)).warnings.join()).toContain("best against best (−0.65 s) hides the other runs");
    expect(compare(asked([...fourAndFour, judgedRun(9, "on", 4.4)])).warnings.join()).toContain("and on had more tries");
  });

  test("lists runs that never reached the gate, and says what to do where none did", () => {
    const runs = [...fourAndFour, judgedRun(9, "on", null, { why: "lifted at 80 km/h" })];
    expect(compare(asked(runs)).notReached).toEqual([{ run: 9, why: "lifted at 80 km/h" }]);
    expect(() => compare(asked(fourAndFour.map((run) => ({ ...run, seconds: null }))))).toThrow(CompareError);
    expect(() => compare(asked(fourAndFour, { groups: ["off", "sport"] }))).toThrow(/"sport".*"off", "on"/);
    expect(() => compare(asked(fourAndFour, { groups: ["off", "off"] }))).toThrow(RangeError);
  });
});

describe("compareGroups()", () => {
  test("holm() gives the textbook step-down values", () => {
    // 4 x 0.01, 3 x 0.02 = 0.06, then never less than the one before.
    expect(holm([0.04, 0.01, 0.03, 0.02]).map(({ p }) => Number(p.toFixed(10)))).toEqual([0.06, 0.04, 0.06, 0.06]);
    expect(holm([0.9, 0.8]).map(({ p }) => p)).toEqual([1, 1]);
    // Tested at a fourth of 1 in 20, then, since that one was refused and the next is not, at a fourth again.
    expect(holm([0.04, 0.01, 0.03, 0.02]).map(({ level }) => level)).toEqual([0.0125, 0.0125, 0.0125, 0.0125]);
    expect(holm([0.04, 0.001]).map(({ level }) => level)).toEqual([0.05, 0.025]);
  });

  test("compares three groups pair by pair, adjusted, with intervals that hold together", () => {
    const soft = [4.6, 4.62, 4.66, 4.7].map((seconds, i) => judgedRun(20 + i, "soft", seconds));
    const result = compareGroups(asked([...fourAndFour, ...soft], { groups: ["off", "on", "soft"] }));
    expect(result.groups.map((group) => group.label)).toEqual(["off", "on", "soft"]);
    expect(result.pairs.map((pair) => [pair.a.label, pair.b.label])).toEqual([
      ["off", "on"],
      ["off", "soft"],
      ["on", "soft"],
    ]);
    for (const pair of result.pairs) expect(pair.holmP).toBeCloseTo(3 * (2 / 70), 12);
    // Three pairs of four and four: 6 / 70 is more than 1 in 20.
    expect(result.verdict).toContain("Cannot tell on from off");
  });

  test("an interval is called too narrow only where too few runs allow no wider one, not where its pair was decided at another level", () => {
    const near = (label: string, from: number, base: number) =>
      Array.from({ length: 8 }, (_, i) => judgedRun(from + i, label, base + 0.01 * ((i * 5) % 8) + from / 1e6));
    const groups = ["off", "on", "soft"];
    const result = compareGroups(asked([...near("off", 1, 5), ...near("on", 11, 4.5), ...near("soft", 21, 4.49)], { groups }));
    const [, second] = result.pairs;
    // Refused first, so the next is tested at a half of 1 in 20.
    expect(second?.interval?.coverage).toBeGreaterThan(0.975);
    expect(second?.interval?.coverage).toBeLessThan(1 - 0.05 / 3);
    for (const pair of result.pairs) expect(pair.warnings.join()).not.toContain("allow no wider one");
    const three = compareGroups(asked([...near("off", 1, 5).slice(0, 3), ...near("on", 11, 4.5).slice(0, 3)]));
    expect(three.pairs[0]?.warnings.join()).toContain("the interval covers 90 % only: so few runs allow no wider one");
  });

  test("two groups come out as compare() has them", () => {
    const [pair] = compareGroups(asked(fourAndFour)).pairs;
    expect(pair?.verdict).toBe(compare(asked(fourAndFour)).verdict);
  });
});
