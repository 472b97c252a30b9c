/** 600 and 5,000 runs of a season compared within strata, against one sort of all their differences: gates 0.5 s and 2 s of this machine's processor. */
import { compare } from "../../src/shared/judge/compare.ts";
import { createSeededRandom } from "../../src/shared/judge/seeded-random.ts";
import { processorMs, tellBench } from "./tell-bench.ts";
import { judgedRun } from "../shared/judge/judged-run.fixture.ts";

const RUNS_A_DAY = 40;
const random = createSeededRandom(17);
const bench = tellBench("season");

function season(runs: number) {
  return Array.from({ length: runs }, (_, i) => {
    const day = Math.floor(i / RUNS_A_DAY);
    const wet = day % 3 === 2;
    const on = random.next() < 0.5;
    return judgedRun(i + 1, on ? "on" : "off", 5 + (wet ? 2 : 0) + 0.1 * random.normal() - (on ? 0.05 : 0), {
      day: new Date(Date.UTC(2031, 4, 4 + day)).toISOString().slice(0, 10),
      conditions: { surface: wet ? "wet" : "dry" },
      courseDeg: i % 2 === 0 ? 74 : 254,
    });
  });
}

// Compiled by the first.
compare({ gate: "0-60 mph", start: "movement", groups: ["off", "on"], runs: season(200), plan: null });
const ours: { size: number; cost: number }[] = [];
const sorts: { size: number; cost: number }[] = [];
for (const [runs, gateMs] of [
  [100, null],
  [600, 500],
  [5000, 2000],
] as const) {
  const driven = season(runs);
  for (const by of [undefined, []] as const) {
    const from = processorMs();
    const { permutation } = compare({ gate: "0-60 mph", start: "movement", groups: ["off", "on"], runs: driven, plan: null, by });
    const took = processorMs() - from;
    const [a, b] = ["off", "on"].map((label) => driven.filter((run) => run.label === label).map((run) => run.seconds as number)) as [
      number[],
      number[],
    ];
    const sorting = processorMs();
    Float64Array.from(a.flatMap((x) => b.map((y) => y - x))).sort();
    const sorted = processorMs() - sorting;
    if (by === undefined) {
      ours.push({ size: runs, cost: took });
      sorts.push({ size: runs, cost: sorted });
    }
    if (gateMs === null) continue;
    bench.figure({
      name: `${runs}-${by === undefined ? "within" : "all"}`,
      what: `${runs} runs compared ${by === undefined ? "within days, surfaces and ways" : "all with all"} (${permutation?.method})`,
      value: took,
      unit: "ms of processor time",
      reference: { name: "one sort of all differences", value: sorted },
      gate: { of: "value", is: "at most", limit: gateMs },
    });
  }
}
bench.series({
  name: "compared",
  what: "a season compared within days, surfaces and ways",
  sizeUnit: "runs",
  costUnit: "ms of processor time",
  lines: [
    { name: "Gripbook", points: ours },
    { name: "one sort of all differences", points: sorts },
  ],
});
