/** Runs are found by the words that a person remembers of them: words side by side as such, others each by its beginning. Common practice, no source. */
import fc from "fast-check";
import { expect, test } from "vitest";
import { areTerms, foundRuns, foundWords } from "../../src/renderer/pages/runs/run-filter.ts";
import type { RunRow } from "../../src/shared/contract/contract.ts";

const run = (id: number, more: Partial<RunRow> = {}) =>
  ({
    id,
    label: "traction control off",
    note: "",
    use: true,
    final: true,
    courseDeg: 74,
    startedAt: null,
    seconds: 5.02,
    flags: [],
    ...more,
  }) as unknown as RunRow;
const RUNS = [
  run(1),
  run(2, { label: "slip target 8 %", note: "wet patch" }),
  run(3, { use: false, note: "gust" }),
  run(4, { flags: [{ flag: "wheelspin", why: "Slip stood above 10 % for 1.2 s." }] }),
];
const ids = (words: string) => foundRuns(RUNS, words).map(({ id }) => id);

test("label, note, flag and state are found, whatever their case; several words narrow, none shows all", () => {
  expect(ids("")).toEqual([1, 2, 3, 4]);
  expect(ids("WET")).toEqual([2]);
  expect(ids("target 8")).toEqual([2]);
  expect(ids("set aside")).toEqual([3]);
  expect(ids("flagged wheelspin")).toEqual([4]);
  expect(ids("control gust")).toEqual([3]);
  expect(ids("gust wheelspin")).toEqual([]);
});

test("words that stand together in some runs find exactly these: a word is not sought inside of another", () => {
  const runs = [
    run(1, { label: "traction control off" }),
    run(2, { label: "traction control on" }),
    run(3, { label: "traction  control On, soft", note: "on in town" }),
    run(4, { label: "control", note: "on the left" }),
  ];
  const found = (words: string) => foundRuns(runs, words).map(({ id }) => id);
  expect(found("control on")).toEqual([2, 3]);
  expect(found("  Control   ON ")).toEqual([2, 3]);
  // The last word may be unfinished, as while typing; no word is known by its end.
  expect(found("control o")).toEqual([1, 2, 3]);
  expect(found("trol on")).toEqual([]);
  // Nowhere together: each at the beginning of some word. A label's end and a note's beginning do not stand together.
  expect(found("on control")).toEqual([2, 3, 4]);
  expect(found("soft town")).toEqual([3]);
  expect(found("own")).toEqual([]);
});

test("figures, signs and other letters are words too; a figure is not sought behind its point", () => {
  const runs = [run(1, { label: "slip target 8 %", seconds: 5.12 }), run(2, { label: "target (8%) \u00e4ndern", seconds: 4.87 })];
  const found = (words: string) => foundRuns(runs, words).map(({ id }) => id);
  expect(found("5.1")).toEqual([1]);
  expect(found("87")).toEqual([]);
  expect(found("8 %")).toEqual([1]);
  expect(found("(8%)")).toEqual([2]);
  expect(found("%")).toEqual([1, 2]);
  expect(found("\u00c4nd")).toEqual([2]);
  expect(found("ndern")).toEqual([]);
  expect(foundRuns([run(3, { note: "\u8def\u9762\u6e7f\u6ed1" })], "\u6e7f\u6ed1")).toHaveLength(1);
});

test("every run found has each word at the beginning of one of its own; a further word never finds a run that lacks it", () => {
  const word = fc.constantFrom("traction", "8", "slip", "off", "5.02", "gust", "east", "x", "set", "control", "(", "\\");
  const runs = RUNS.map(({ id, label, note, flags }) => ({
    id,
    words: `${label} ${note} 5.02 east set aside run ${id} ${flags[0]?.why}`.toLowerCase().split(/\s+/),
  }));
  fc.assert(
    fc.property(fc.array(word, { minLength: 1, maxLength: 4 }), (words) => {
      const found = ids(words.join(" "));
      expect(found).toEqual(found.toSorted((a, b) => a - b));
      for (const id of found)
        for (const sought of words) expect(runs.find((one) => one.id === id)?.words.some((own) => own.startsWith(sought))).toBe(true);
    }),
  );
});

test("the line over the runs says how many, and that a run still shown is none of them", () => {
  expect(foundWords({ runs: RUNS, found: RUNS.slice(0, 2), sought: "wet", shown: 1 })).toBe("2 of 4 runs have \u201cwet\u201d");
  expect(foundWords({ runs: RUNS, found: RUNS.slice(0, 2), sought: "wet", shown: null })).toBe("2 of 4 runs have \u201cwet\u201d");
  for (const [found, shown] of [
    [RUNS.slice(0, 2), 4],
    [[], 4],
  ] as const)
    expect(foundWords({ runs: RUNS, found, sought: "wet", shown })).toBe(
      `${found.length} of 4 runs have \u201cwet\u201d; run 4 below is not one of them`,
    );
});

test("what was noted with a run and its day are words of it; a key and its value stand together", () => {
  const runs = [
    run(1, { conditions: { surface: "wet", "slip target": "8 %" }, day: "2031-05-04" }),
    run(2, { conditions: { surface: "dry", "slip target": "12 %" }, day: "2031-05-05" }),
  ];
  const found = (words: string) => foundRuns(runs, words).map(({ id }) => id);
  expect(found("wet")).toEqual([1]);
  expect(found("slip target 12")).toEqual([2]);
  expect(found("2031-05-04")).toEqual([1]);
  expect(found("5 May 2031")).toEqual([2]);
  expect(found("dry 8")).toEqual([]);
});

test("terms are known by a word before their sign", () => {
  for (const terms of ["surface=wet", "day >= 2031-05-04", "tyre pressure<2.1; surface=wet", "label!=off", "run=1-12"])
    expect(areTerms(terms), terms).toBe(true);
  for (const words of ["wet", "8 %", "= off", "<5", ""]) expect(areTerms(words), words).toBe(false);
});
