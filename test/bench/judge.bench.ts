/**
 * Simulated days: 10,000 without any effect and with drift to 2 scatters, 2,000 with the planned effect. Draws
 * docs/judging.svg and prints the figures. Gates: what the suggested plan promises (5.5 %, 75 to 85 %).
 */
import { writeFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { findableDifference } from "../../src/shared/judge/power.ts";
import { createSeededRandom } from "../../src/shared/judge/seeded-random.ts";
import { bestOfThreeClaims, fourThenFourClaims, judgeAsPlanned } from "../shared/judge/simulated-days.ts";
import { processorMs, tellBench } from "./tell-bench.ts";
import { judgingChart, type JudgingPoint } from "./judging-chart.ts";

const NULL_DAYS = 10_000;
const EFFECT_DAYS = 2000;
const DRIFTS = [-2, -1.5, -1, -0.5, 0, 0.5, 1, 1.5, 2];
const random = createSeededRandom(20310504);
const bench = tellBench("judge");

function share(days: number, claims: () => boolean): number {
  let count = 0;
  for (let day = 0; day < days; day += 1) if (claims()) count += 1;
  return count / days;
}
const percent = (value: number) => `${(100 * value).toFixed(2)} %`;
const claimed = (comparison: ReturnType<typeof judgeAsPlanned>) => / is .* (quicker|slower) than /.test(comparison.headline);

const started = processorMs();
const alarms = share(NULL_DAYS, () =>
  claimed(judgeAsPlanned({ effect: 0, drift: 4 * random.next() - 2, directionEffect: random.normal() }, random)),
);
bench.figure({
  name: "false-alarms",
  what: `${NULL_DAYS} null days, drift -2 to 2 scatters: the suggested plan claims a difference`,
  value: 100 * alarms,
  unit: "% of days",
  gate: { of: "value", is: "at most", limit: 5.5 },
});

const effect = -(findableDifference(6, 2) as number);
const found = share(EFFECT_DAYS, () => claimed(judgeAsPlanned({ effect, drift: 0, directionEffect: random.normal() }, random)));
const planned = `${EFFECT_DAYS} days with the planned effect (${(-effect).toFixed(2)} scatters): found`;
for (const [name, is, limit] of [
  ["found", "at least", 75],
  ["not-found-too-often", "at most", 85],
] as const)
  bench.figure({ name, what: planned, value: 100 * found, unit: "% of days", gate: { of: "value", is, limit } });

for (const drift of [1, 2]) {
  const still = share(EFFECT_DAYS, () => claimed(judgeAsPlanned({ effect, drift, directionEffect: random.normal() }, random)));
  bench.figure({
    name: `found-with-drift-${drift}`,
    what: `the same effect with a drift of ${drift} scatter(s) over the test: found`,
    value: 100 * still,
    unit: "% of days",
  });
}

const points: JudgingPoint[] = DRIFTS.map((drift) => {
  const day = { effect: 0, drift, directionEffect: 0 };
  return {
    drift,
    suggested: share(2000, () => claimed(judgeAsPlanned(day, random))),
    fourThenFour: share(2000, () => fourThenFourClaims(day, random)),
    bestOfThree: share(2000, () => bestOfThreeClaims(day, random)),
  };
});
for (const point of points) {
  bench.note(
    `drift ${point.drift.toFixed(1).padStart(4)}: suggested ${percent(point.suggested)}, off x 4 then on x 4 ${percent(point.fourThenFour)}, best of three ${percent(point.bestOfThree)}`,
  );
}
writeFileSync(fileURLToPath(new URL("../../docs/judging.svg", import.meta.url)), judgingChart(points));
bench.figure({
  name: "all-days",
  what: "all these days judged, docs/judging.svg drawn",
  value: (processorMs() - started) / 1000,
  unit: "s of processor time",
});
