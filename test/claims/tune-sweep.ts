/**
 * Test days by the hundred on both generators: how exact the fitted car, the grip curve and the lost time are, and whether "not reached" is
 * said exactly where it is true.
 */
import type { Sweep } from "./decoy-sweep.ts";
import type { TuneCase, TuneFigure } from "./judge-tune-day.ts";
import { sumUpLosses } from "./loss-sweep.ts";
import { createPool } from "./pool.ts";
import { type ClaimLine, claimLine, rowsOf, TABLE_HEAD } from "./summary.ts";
import type { TuneDayClass } from "./tune-day.ts";
import type { TuneJob, TuneJudged } from "./tune-worker.ts";

const FIRST_SEED = 90_000;

/** Most RMS of best slip and, relative, of peak friction; null: shown, not promised. */
type Most = { readonly bestSlip: number; readonly peakFriction: number } | null;

interface TuneClass {
  readonly name: string;
  readonly day: TuneDayClass;
  /** Set-ups that the same days are judged under. */
  readonly judged: readonly { readonly name: string; readonly off: number; readonly most: Most }[];
  /** Name under which lost time is judged on the same days; absent: it is not. */
  readonly losses?: string;
}

const EXACT = { name: "set-up exact", off: 0, most: { bestSlip: 0.01, peakFriction: 0.02 } };
const OFF = { name: "mass, height and weight share 5 % off", off: 0.05, most: { bestSlip: 0.02, peakFriction: 0.05 } };
/** Six launches, half without control: slip passes the best and comes back. */
const simulatedPasses = [null, 0.085, null, 0.085, 0.085, null];
const secondPasses = [null, 0.06, null, 0.06, 0.06, null];
/** A control that allows a third of the best slip, or less. */
const holdsBack = [0.03, 0.03, 0.03, 0.03];

export const TUNE_CLASSES: readonly TuneClass[] = [
  {
    name: "test days: simulated car, dry, peak passed",
    day: { car: "first", surface: "dry", allowed: simulatedPasses },
    judged: [EXACT, OFF],
    losses: "lost time: simulated car, dry",
  },
  {
    name: "test days: second car, wet, peak passed",
    day: { car: "second", surface: "wet", allowed: secondPasses },
    judged: [EXACT, OFF],
    losses: "lost time: second car, wet",
  },
  { name: "test days: simulated car, dry, held back", day: { car: "first", surface: "dry", allowed: holdsBack }, judged: [EXACT] },
  {
    name: "test days: second car, dry, grip to spare",
    day: { car: "second", surface: "dry", allowed: [null, 0.03, 0.03, null] },
    judged: [EXACT],
  },
  { name: "test days: second car, wet, held back", day: { car: "second", surface: "wet", allowed: holdsBack }, judged: [EXACT] },
  {
    name: "test days: simulated car, wet, peak passed",
    day: { car: "first", surface: "wet", allowed: simulatedPasses },
    judged: [EXACT],
    losses: "lost time: simulated car, wet",
  },
  {
    name: "test days: second car, dry, peak passed",
    day: { car: "second", surface: "dry", allowed: secondPasses },
    judged: [EXACT],
    losses: "lost time: second car, dry",
  },
  {
    name: "test days: second car, wet, peak passed, no undriven wheels",
    day: { car: "second", surface: "wet", allowed: secondPasses, kind: { undriven: false } },
    judged: [{ ...EXACT, most: null }],
  },
];

const WHAT: Readonly<Record<TuneFigure, string>> = {
  bestSlip: "best slip (slip itself)",
  peakFriction: "peak friction",
  dragAreaM2: "drag area",
  rollingResistance: "rolling resistance",
  axleInertiaKgM2: "axle inertia",
  fullTorqueNm: "full torque",
  fullPowerW: "full power",
  torqueRatio: "torque over motion",
};

/** All names, of car and tyre and of lost time. */
export const TUNE_NAMES = TUNE_CLASSES.flatMap(({ name, losses }) => (losses === undefined ? [name] : [name, losses]));

/** `cases` days of each class with a name that holds `only`; `tell` hears each table as soon as it is there. */
export async function sweepTune(cases: number, only: string, tell: (table: string) => void): Promise<Sweep> {
  const pool = createPool<TuneJob, TuneJudged>("./tune-worker.ts");
  const found: Sweep[] = [];
  for (const { name, day, judged, losses } of TUNE_CLASSES) {
    const under = name.includes(only) ? judged : [];
    const lossName = losses?.includes(only) === true ? losses : null;
    if (under.length === 0 && lossName === null) continue;
    const offs = under.map(({ off }) => off);
    const jobs = Array.from({ length: cases }, (_, i) => ({ seed: FIRST_SEED + i, day, offs, losses: lossName !== null }));
    const days = await pool.run(jobs);
    const sums = under.map((setUp, k) =>
      sumUp(
        `${name}, ${setUp.name}`,
        days.map(({ tune }) => tune[k] as TuneCase),
        setUp.most,
      ),
    );
    if (lossName !== null)
      sums.push(
        sumUpLosses(
          lossName,
          days.flatMap((one) => one.losses ?? []),
          day.allowed.length,
        ),
      );
    for (const { table } of sums) tell(table);
    found.push(...sums);
  }
  await pool.close();
  return { table: found.map((one) => one.table).join("\n"), failures: found.flatMap((one) => one.failures) };
}

function sumUp(name: string, days: readonly TuneCase[], most: Most): Sweep {
  const lines = linesOf(days, most);
  const count = (holds: (one: TuneCase) => boolean) => days.filter(holds).length;
  const passed = count((one) => one.passed === true);
  const unsaid = count((one) => one.passed === true && !one.said);
  const not = count((one) => one.passed === false);
  const made = count((one) => one.passed === false && one.said);
  const failures = lines.flatMap((line) => line.failures.map((failure) => `${name}: ${line.what}: ${failure}`));
  if (unsaid > 0) failures.push(`${name}: the peak was passed and called not reached on ${unsaid} of ${passed} days`);
  if (made > 0) failures.push(`${name}: the peak was not reached and got a best slip on ${made} of ${not} days`);
  const told = `${days.length} days. Slip well passed its best on ${passed}, of which ${unsaid} were called not reached; it did not on ${not}, of which ${made} got a best slip.`;
  return { table: `### ${name}\n\n${told}\n\n${TABLE_HEAD}\n${rowsOf(lines)}\n`, failures };
}

function linesOf(judged: readonly TuneCase[], most: Most): ClaimLine[] {
  return (Object.keys(WHAT) as TuneFigure[]).flatMap((figure) => {
    const outcomes = judged.map((one) => one.outcomes[figure]).filter((outcome) => outcome !== undefined);
    if (outcomes.length === 0) return [];
    const promised = figure === "bestSlip" || figure === "peakFriction" ? (most?.[figure] ?? null) : null;
    return [claimLine({ what: WHAT[figure], outcomes, unit: "%", scale: 100, mostRms: promised })];
  });
}
