/** 600 and 5,000 runs of a season compared within strata, against one sort of all their differences: gates 0.5 s and 2 s of this machine's processor. Exits 1 above them. */
import { compare } from "../../src/shared/judge/compare.ts";
import { createSeededRandom } from "../../src/shared/judge/seeded-random.ts";
import { judgedRun } from "../shared/judge/judged-run.fixture.ts";

const RUNS_A_DAY = 40;
const random = createSeededRandom(17);
const processorMs = () => {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1000;
};

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

for (const [runs, gateMs] of [
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
    console.log(
      `season: ${runs} runs compared ${by === undefined ? "within days, surfaces and ways" : "all with all"} (${permutation?.method}) in ${took.toFixed(0)} ms, ${(took / sorted).toFixed(2)} times one sort of all differences`,
    );
    if (took > gateMs) {
      console.log(`season: FAILED, ${took.toFixed(0)} ms is over ${gateMs} ms`);
      process.exitCode = 1;
    }
  }
}
