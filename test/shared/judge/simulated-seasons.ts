/** Seasons of known truth: days, dry and wet, both ways, labels as they fell, drawn by a seeded generator; and what the comparison makes of them. */
import { compare } from "../../../src/shared/judge/compare.ts";
import type { Comparison } from "../../../src/shared/judge/judged-run.ts";
import { createSeededRandom } from "../../../src/shared/judge/seeded-random.ts";
import { judgedRun } from "./judged-run.fixture.ts";

const SCATTER_S = 0.1;
/** Wet launches scatter more; a day, a surface and a way part times by more than any setting does (common practice, no source). */
const WET_SCATTER = 2.5;
const DAY_S = 0.3;
const WET_S = 2;
const WAY_S = 0.15;

export interface SeasonTruth {
  /** b - a on dry, s. */
  readonly dryS: number;
  readonly wetS: number;
}

/** Two to five days of 6 to 14 runs; each day's share of `on` is drawn anew, so that labels and days go together as they do when nobody plans. */
export function simulateSeason(seed: number, { dryS, wetS }: SeasonTruth): Comparison {
  const random = createSeededRandom(seed);
  const days = 2 + random.below(4);
  const runs = Array.from({ length: days }, (_, day) => {
    const wet = random.next() < 0.4;
    const [level, way] = [DAY_S * random.normal(), WAY_S * random.normal()];
    const share = 0.3 + 0.4 * random.next();
    return Array.from({ length: 6 + random.below(9) }, (_, i) => {
      const [on, back] = [random.next() < share, i % 2];
      const effect = on ? (wet ? wetS : dryS) : 0;
      const seconds = 5 + level + (wet ? WET_S : 0) + way * back + effect + SCATTER_S * (wet ? WET_SCATTER : 1) * random.normal();
      return judgedRun(100 * day + i + 1, on ? "on" : "off", seconds, {
        day: `2031-05-0${day + 1}`,
        conditions: { surface: wet ? "wet" : "dry" },
        courseDeg: 74 + 180 * back,
      });
    });
  }).flat();
  // A season needs both labels: a lone one is driven once more.
  const both = ["off", "on"].flatMap((label, i) =>
    runs.some((run) => run.label === label)
      ? []
      : [judgedRun(999 + i, label, 5, { day: "2031-05-01", conditions: { surface: "dry" }, courseDeg: 74 })],
  );
  return compare({ gate: "0-60 mph", start: "movement", groups: ["off", "on"], runs: [...runs, ...both], plan: null });
}

export const claims = ({ headline }: Comparison) => / is .*(quicker|slower) than /.test(headline);
export const covers = ({ said }: Comparison, shiftS: number) => said !== null && said.low <= shiftS + 1e-9 && said.high >= shiftS - 1e-9;
