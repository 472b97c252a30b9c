/** Seasons of known truth, judged within strata: how often a setting that does nothing is called one that does, and how often the interval holds what it is worth. */
import type { Sweep } from "./decoy-sweep.ts";
import { claims, covers, simulateSeason } from "../shared/judge/simulated-seasons.ts";
import { binomialBelow } from "./tally.ts";

const FIRST_SEED = 170_000;
export const SEASON_NAME = "seasons of several days";
/** What `npm run claims` asks for a class of drives is 200; a season is judged in milliseconds, and its promise is one of 10,000. */
const SEASONS_A_CASE = 100;
const MOST_ALARMS = 0.055;
const REFUTED = 0.001;
const WORTH_S = -0.08;
const DRY_S = -0.1;
const WET_S = -0.5;

const percent = (share: number) => `${(100 * share).toFixed(2)} %`;

/** Judges `cases` times a hundred seasons of each kind: nothing gained, the same gained everywhere, and more gained in the wet. */
export function sweepSeasons(cases: number): Sweep {
  const seasons = cases * SEASONS_A_CASE;
  const count = { alarms: 0, held: 0, found: 0, made: 0, told: 0 };
  let claimed = 0;
  for (let i = 0; i < seasons; i += 1) {
    const seed = FIRST_SEED + i;
    if (claims(simulateSeason(seed, { dryS: 0, wetS: 0 }))) count.alarms += 1;
    const same = simulateSeason(seed + seasons, { dryS: WORTH_S, wetS: WORTH_S });
    if (covers(same, WORTH_S)) count.held += 1;
    claimed += (same.said?.coverage ?? 1) / seasons;
    if (claims(same)) count.found += 1;
    if (same.effectDiffers.length > 0) count.made += 1;
    if (simulateSeason(seed + 2 * seasons, { dryS: DRY_S, wetS: WET_S }).effectDiffers.length > 0) count.told += 1;
  }
  const share = (n: number) => n / seasons;
  const failures = [
    ...(share(count.alarms) > MOST_ALARMS ? [`false alarms on ${percent(share(count.alarms))} of seasons`] : []),
    ...(share(count.made) > MOST_ALARMS ? [`an effect said to differ on ${percent(share(count.made))} of seasons where it is one`] : []),
    ...(binomialBelow(count.held, seasons, claimed) < REFUTED
      ? [`${percent(share(count.held))} covered where ${percent(claimed)} were claimed`]
      : []),
  ];
  const table = `### ${SEASON_NAME}

${seasons} seasons of each kind, two to five days of 6 to 14 runs, dry and wet (scatter 2.5 times), both ways, each day's share of the setting drawn anew; day, surface and way part times by 0.3, 2 and 0.15 s, a single run scatters by 0.1 s. Compared as the program suggests, without a plan.

| what | share | promised |
| --- | --- | --- |
| a setting that does nothing is called one that does | ${percent(share(count.alarms))} | at most 5.5 % |
| the interval holds what the setting is worth | ${percent(share(count.held))} | ${percent(claimed)}, as it says on average |
| 0.08 s found | ${percent(share(count.found))} | |
| an effect that is one is said to differ by day, surface or way | ${percent(share(count.made))} | at most 5.5 % |
| 0.1 s dry and 0.5 s wet are said to differ | ${percent(share(count.told))} | |
`;
  return { table, failures: failures.map((failure) => `${SEASON_NAME}: ${failure}`) };
}
