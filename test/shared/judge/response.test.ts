/** A response to settings found again where its truth is known: sizes inside their intervals as often as claimed, strata taken out, nothing beyond what was tried. */
import { expect, test } from "vitest";
import { gainKept } from "../../../src/shared/judge/expected-gain.ts";
import { screeningDesign } from "../../../src/shared/judge/factorial-design.ts";
import type { JudgedRun } from "../../../src/shared/judge/judged-run.ts";
import { composite, confirm, nextExperiment, screening } from "../../../src/shared/judge/next-experiment.ts";
import { respond, type Response } from "../../../src/shared/judge/response.ts";
import { responseLines } from "../../../src/shared/judge/response-words.ts";
import { createSeededRandom } from "../../../src/shared/judge/seeded-random.ts";
import { settingsLabel, settingsOf } from "../../../src/shared/judge/settings.ts";
import { judgedRun as runOf } from "./judged-run.fixture.ts";

const judgedRun = ({ id = 1, label = "", seconds = 5, ...more }: Partial<JudgedRun>) => runOf(id, label, seconds, more);

interface Truth {
  readonly slipS: number;
  readonly gainS: number;
  readonly dayS: number;
}

/** Slip target 6 to 10 %, gain 1 to 3: a day of each half, scatter 0.05 s, unless `levels` says other coded settings. */
function driven(seed: number, { slipS, gainS, dayS }: Truth, levels = screeningDesign(2).runs): JudgedRun[] {
  const random = createSeededRandom(seed);
  return [0, 1].flatMap((day) =>
    [0, 1].flatMap((again) =>
      levels.map(([slip = 0, gain = 0], i) =>
        judgedRun({
          id: 1 + i + levels.length * (again + 2 * day),
          drivenAt: i + 100 * (again + 2 * day),
          day: `2031-05-0${day + 4}`,
          seconds: 4.5 + (slipS * slip) / 2 + (gainS * gain) / 2 + dayS * day + 0.05 * random.normal(),
          conditions: { "slip target": `${8 + 2 * slip} %`, gain: String(2 + gain), surface: "dry" },
        }),
      ),
    ),
  );
}

const responseOf = (runs: readonly JudgedRun[]): Response => {
  const { response, why } = respond({ gate: "0-60 mph", runs });
  if (response === null) throw new Error(why ?? "");
  return response;
};
const worthOf = (response: Response, name: string) => response.factors.find((factor) => factor.name === name)?.worth ?? null;

test("what each setting is worth lies in its interval as often as 95 % claims, within days", () => {
  const truth = { slipS: -0.12, gainS: 0.03, dayS: 0.6 };
  const cases = 600;
  let [held, told] = [0, 0];
  for (let seed = 1; seed <= cases; seed += 1) {
    const response = responseOf(driven(seed, truth));
    if (seed === 1) expect(response.within).toEqual(["day"]);
    for (const [name, seconds] of [
      ["slip target", truth.slipS],
      ["gain", truth.gainS],
    ] as const) {
      const worth = worthOf(response, name);
      told += 1;
      if (worth !== null && Math.abs(worth.seconds - seconds) <= worth.plusMinus95) held += 1;
    }
  }
  // Binomial, 1,200 at 95 %: standard deviation 0.63 %; 92.5 % is four of them away.
  expect(held / told).toBeGreaterThan(0.925);
  expect(held / told).toBeLessThan(0.975);
});

test("a setting that differs only between days is not told, whatever the days did", () => {
  const runs = driven(3, { slipS: -0.12, gainS: 0, dayS: 0.6 }).map((run) => ({
    ...run,
    conditions: { ...run.conditions, gain: run.day === "2031-05-04" ? "1" : "3" },
  }));
  const response = responseOf(runs);
  expect(worthOf(response, "gain")).toBeNull();
  expect(worthOf(response, "slip target")?.seconds).toBeCloseTo(-0.12, 1);
  expect(response.notes.join(" ")).toContain("gain cannot be told from day");
});

test("nothing is expected beyond what was tried, and corners that nobody drove are none", () => {
  // One at a time: slip at gain 1, gain at slip 6; the far corner was never driven.
  const arms = [
    [-1, -1],
    [0, -1],
    [1, -1],
    [-1, 0],
    [-1, 1],
  ];
  const response = responseOf(driven(5, { slipS: -0.4, gainS: -0.4, dayS: 0 }, arms));
  const { values } = response.best;
  expect(values[0]).toBeLessThanOrEqual(10);
  expect(values[1]).toBeLessThanOrEqual(3);
  expect(values).not.toEqual([10, 3]);
});

test("a quickest setting inside the range is found, with its gain", () => {
  const random = createSeededRandom(9);
  const levels = [-1, -0.5, 0, 0.5, 1];
  const runs = [0, 1, 2].flatMap((again) =>
    levels.map((slip, i) =>
      judgedRun({
        id: 1 + i + 5 * again,
        drivenAt: i + 10 * again,
        seconds: 4.5 + 0.3 * (slip - 0.4) ** 2 + 0.01 * random.normal(),
        label: `slip target ${8 + 2 * slip} %`,
        conditions: {},
      }),
    ),
  );
  const response = responseOf(runs);
  expect(response.factors[0]).toMatchObject({ name: "slip target", unit: "%", low: 6, high: 10, levels: 5 });
  expect(Math.abs((response.best.values[0] as number) - 8.8)).toBeLessThan(0.31);
  expect(response.best.gainS).toBeLessThan(0);
  expect(nextExperiment(response)?.kind).toBe("confirm");
  expect(confirm(response).expected?.gainS).toBe(response.best.gainS);
});

test("residuals add up: time is what was expected plus the residual, and they sum to nothing", () => {
  const { points } = responseOf(driven(11, { slipS: -0.1, gainS: 0, dayS: 0.2 }));
  for (const { seconds, expected, residual } of points) expect(expected + residual).toBeCloseTo(seconds, 12);
  expect(points.reduce((sum, { residual }) => sum + residual, 0)).toBeCloseTo(0, 9);
});

test("labels say settings and are read again; a change or a word is none", () => {
  const label = settingsLabel([
    ["slip target", { value: 8.5, unit: "%" }],
    ["gain", { value: -2, unit: "" }],
    ["tyre pressure", { value: 2.1, unit: "bar" }],
  ]);
  expect(label).toBe("slip target 8.5 %, gain -2, tyre pressure 2.1 bar");
  expect(settingsOf({ label, conditions: { gain: "3" } })).toEqual({
    "slip target": { value: 8.5, unit: "%" },
    gain: { value: 3, unit: "" },
    "tyre pressure": { value: 2.1, unit: "bar" },
  });
  expect(settingsOf({ label: "traction control on", conditions: { "slip target": "8 -> 6 %", surface: "wet" } })).toEqual({});
});

test("the next experiment: a fraction for screening, then centre and star points inside what was tried", () => {
  const range = (name: string) => ({ name, unit: "", low: 1, high: 3, levels: 2 });
  const first = screening(["a", "b", "c", "d"].map(range));
  expect(first.name).toBe("2^(4-1)");
  expect(first.settings[0]?.label).toBe("a 1, b 1, c 1, d 1");
  expect(first.why).toContain("a x b with c x d");
  const response = responseOf(driven(13, { slipS: -0.2, gainS: 0.1, dayS: 0 }));
  const next = composite(response);
  expect(next.settings.map(({ label }) => label)).toEqual([
    "slip target 6.6 %, gain 1.3",
    "slip target 9.4 %, gain 1.3",
    "slip target 6.6 %, gain 2.7",
    "slip target 9.4 %, gain 2.7",
    "slip target 6 %, gain 2",
    "slip target 10 %, gain 2",
    "slip target 8 %, gain 1",
    "slip target 8 %, gain 3",
    "slip target 8 %, gain 2",
  ]);
  expect(nextExperiment(response)?.kind).toBe("composite");
  expect(responseLines({ gate: "0-60 mph", response, why: null, next, kept: [] }).join("\n")).toMatch(
    /slip target from 6 to 10 %: 0\.[12]\d s quicker/,
  );
});

const named = ({ "slip target": slip, gain }: JudgedRun["conditions"]) => ({ "slip squared": slip ?? "", "gain x 2 squared": gain ?? "" });

test("what a term is comes from the model and not from a setting's name", () => {
  const runs = driven(13, { slipS: -0.2, gainS: 0.1, dayS: 0 }).map((run) => ({ ...run, label: "", conditions: named(run.conditions) }));
  const { response } = respond({ gate: "0-60 mph", runs });
  expect(response?.terms.filter(({ kind }) => kind === "main").map(({ name }) => name)).toEqual(["slip squared", "gain x 2 squared"]);
  const lines = response === null ? [] : responseLines({ gate: "0-60 mph", response, why: null, next: null, kept: [] });
  expect(lines.filter((line) => line.includes("on the scale from -1")).length).toBe(
    response?.terms.filter(({ kind }) => kind !== "main").length,
  );
});

test("of equal times no share is explained: it is unknown, and not 0", () => {
  const runs = driven(13, { slipS: 0, gainS: 0, dayS: 0 }).map((run) => ({ ...run, seconds: 4.5 }));
  const response = responseOf(runs);
  expect(response.explained).toBeNull();
  expect(responseLines({ gate: "0-60 mph", response, why: null, next: null, kept: [] }).join("\n")).not.toMatch(/explained|NaN/);
});

test("too little says why", () => {
  const none = respond({ gate: "0-60 mph", runs: [judgedRun({}), judgedRun({ id: 2 })] });
  expect(none.why).toContain("no setting differs");
  const few = driven(1, { slipS: 0, gainS: 0, dayS: 0 }).slice(0, 3);
  expect(respond({ gate: "0-60 mph", runs: few }).why).toMatch(/3 runs .* at least 4 are needed/);
  const mixed = [...few, judgedRun({ id: 9, conditions: { gain: "2 x" } })];
  expect(respond({ gate: "0-60 mph", runs: mixed, factors: ["gain"] }).why).toContain("use one");
});

test("whether an expected gain came true", () => {
  const expected = { gate: "0-60 mph", from: "a", to: "b", gainS: -0.2, plusMinus95: 0.05, afterRun: 1, utcUs: 0 };
  const verdict = (low: number, high: number) =>
    gainKept(expected, { said: { shift: (low + high) / 2, low, high, coverage: 0.95, planned: true } }).verdict;
  expect(verdict(-0.25, -0.1)).toBe("came true");
  expect(verdict(-0.15, -0.05)).toBe("less than expected");
  expect(verdict(-0.5, -0.3)).toBe("more than expected");
  expect(verdict(-0.1, 0.1)).toBe("did not come true");
  expect(verdict(0.1, 0.3)).toBe("did not come true");
  expect(verdict(-0.4, 0.1)).toBe("open");
  expect(gainKept(expected, null).words).toContain("not driven yet");
});

const noted = (id: number, slip: number | null, seconds: number, more: Partial<JudgedRun> = {}) =>
  judgedRun({ id, drivenAt: id, seconds, conditions: slip === null ? {} : { "slip target": `${slip} %` }, ...more });

test("runs with the control off are not mixed with those where it works, and that is said; alone they are looked at", () => {
  const on = Array.from({ length: 12 }, (_, i) =>
    noted(i + 1, i % 2 === 0 ? 8 : 12, 4.5 - (i % 2) * 0.2 + 0.01 * (i % 3), { label: "on" }),
  );
  // Noted like the others, as a copy of the run before; 1 s slower whatever stood there.
  const off = Array.from({ length: 6 }, (_, i) => noted(20 + i, i < 5 ? 12 : 8, 5.5 + 0.01 * (i % 3), { label: "traction control off" }));
  const both = responseOf([...on, ...off]);
  expect(worthOf(both, "slip target")?.seconds).toBeCloseTo(-0.2, 1);
  expect(both.points).toHaveLength(12);
  expect(both.notes.join("; ")).toContain("6 runs with the control off are left out");
  // By the car's own switch, whatever the label.
  const switched = off.map((run) => ({ ...run, label: "x", measured: { tractionControlEnabled: 0 } }));
  expect(responseOf([...on, ...switched]).points).toHaveLength(12);
  expect(responseOf(off).points).toHaveLength(6);
  // Labelled otherwise later: as noted, and where nothing tells it that is said.
  const renamed = off.map((run) => ({ ...run, label: "street tyres" }));
  const told = renamed.map((run) => ({ ...run, conditions: { ...run.conditions, Control: "off" } }));
  expect(responseOf([...on, ...told]).points).toHaveLength(12);
  expect(responseOf([...on, ...renamed]).notes.join("; ")).toContain("note the condition control=off");
});

test("a setting that few runs have noted is named, not silently left out", () => {
  const runs = Array.from({ length: 20 }, (_, i) =>
    noted(i + 1, i % 2 === 0 ? 8 : 12, 4.5 + 0.01 * (i % 3), i < 6 ? { conditions: { "slip target": "8 %", ramp: String(i % 2) } } : {}),
  );
  expect(responseOf(runs).notes.join("; ")).toContain("ramp is noted with 6 of 20 runs, too few to be looked at beside the others");
});

test("a value that was driven once is not proposed, and one whose worth cannot be told stays as usual", () => {
  const runs = Array.from({ length: 12 }, (_, i) => noted(i + 1, i % 2 === 0 ? 8 : 10, 4.5 - (i % 2) * 0.1 + 0.01 * (i % 3)));
  const once = responseOf([...runs, noted(13, 14, 4.1)]);
  expect(once.best.values).toEqual([10]);
  expect(once.notes.join("; ")).toContain("slip target 14 % was driven in one run alone and is not proposed");
  // Gain goes with the day: unknown, so that the quickest keeps the usual one.
  const tied = responseOf(
    driven(3, { slipS: -0.12, gainS: 0, dayS: 0.6 }).map((run) => ({
      ...run,
      conditions: { ...run.conditions, gain: run.day === "2031-05-04" ? "1" : "3" },
    })),
  );
  expect(tied.best.values[1]).toBe(tied.usual.values[1]);
});
