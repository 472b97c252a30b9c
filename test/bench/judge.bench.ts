/**
 * Simulated days: 10,000 without any effect and with drift to 2 scatters, 2,000 with the planned effect. Draws
 * docs/judging.svg and prints the figures. Exits 1 where the suggested plan breaks its promise (5.5 %, 75 to 85 %).
 */
import { writeFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { findableDifference } from "../../src/shared/judge/power.ts";
import { createSeededRandom } from "../../src/shared/judge/seeded-random.ts";
import { bestOfThreeClaims, fourThenFourClaims, judgeAsPlanned } from "../shared/judge/simulated-days.ts";
import { judgingChart, type JudgingPoint } from "./judging-chart.ts";

const NULL_DAYS = 10_000;
const EFFECT_DAYS = 2000;
const DRIFTS = [-2, -1.5, -1, -0.5, 0, 0.5, 1, 1.5, 2];
const random = createSeededRandom(20310504);

function share(days: number, claims: () => boolean): number {
  let count = 0;
  for (let day = 0; day < days; day += 1) if (claims()) count += 1;
  return count / days;
}
const percent = (value: number) => `${(100 * value).toFixed(2)} %`;
const claimed = (comparison: ReturnType<typeof judgeAsPlanned>) => / is .* (quicker|slower) than /.test(comparison.headline);

const started = performance.now();
const alarms = share(NULL_DAYS, () =>
  claimed(judgeAsPlanned({ effect: 0, drift: 4 * random.next() - 2, directionEffect: random.normal() }, random)),
);
console.log(
  `judge: ${NULL_DAYS} null days, drift -2 to 2 scatters: the suggested plan claims a difference on ${percent(alarms)} (promise: at most 5.5 %)`,
);

const effect = -(findableDifference(6, 2) as number);
const found = share(EFFECT_DAYS, () => claimed(judgeAsPlanned({ effect, drift: 0, directionEffect: random.normal() }, random)));
console.log(
  `judge: ${EFFECT_DAYS} days with the planned effect (${(-effect).toFixed(2)} scatters): found on ${percent(found)} (promise: 75 to 85 %)`,
);

for (const drift of [1, 2]) {
  const still = share(EFFECT_DAYS, () => claimed(judgeAsPlanned({ effect, drift, directionEffect: random.normal() }, random)));
  console.log(`judge: the same effect with a drift of ${drift} scatter(s) over the test: found on ${percent(still)}`);
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
  console.log(
    `judge: drift ${point.drift.toFixed(1).padStart(4)}: suggested ${percent(point.suggested)}, off x 4 then on x 4 ${percent(point.fourThenFour)}, best of three ${percent(point.bestOfThree)}`,
  );
}
writeFileSync(fileURLToPath(new URL("../../docs/judging.svg", import.meta.url)), judgingChart(points));
console.log(`judge: docs/judging.svg drawn, ${((performance.now() - started) / 1000).toFixed(1)} s in all`);
if (alarms > 0.055 || found < 0.75 || found > 0.85) {
  console.log("judge: FAILED, a promise above is broken");
  process.exitCode = 1;
}
