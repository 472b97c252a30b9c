/** Test days by the hundred on both generators: how true the fitted car and the grip curve are, and whether "not reached" is said exactly where it is so. */
import type { Sweep } from "./decoy-sweep.ts";
import type { TuneCase, TuneFigure } from "./judge-tune-day.ts";
import { createPool } from "./pool.ts";
import { type ClaimLine, claimLine, rowsOf, TABLE_HEAD } from "./summary.ts";
import type { TuneDayClass } from "./tune-day.ts";
import type { TuneJob } from "./tune-worker.ts";

const FIRST_SEED = 90_000;

interface TuneClass {
  readonly name: string;
  readonly day: TuneDayClass;
  /** Most RMS of best slip and, relative, of peak friction; null: shown, not promised. */
  readonly most: { readonly bestSlip: number; readonly peakFriction: number } | null;
}

const EXACT = { bestSlip: 0.01, peakFriction: 0.02 };
const OFF = { bestSlip: 0.02, peakFriction: 0.05 };
/** Six launches, half without control: slip passes the best and comes back. */
const simulatedPasses = [null, 0.085, null, 0.085, 0.085, null];
const secondPasses = [null, 0.06, null, 0.06, 0.06, null];
/** A control that allows a third of the best slip, or less. */
const holdsBack = [0.03, 0.03, 0.03, 0.03];

export const TUNE_CLASSES: readonly TuneClass[] = [
  {
    name: "test days: simulated car, dry, peak passed, set-up exact",
    day: { car: "first", surface: "dry", allowed: simulatedPasses, setUpOff: 0 },
    most: EXACT,
  },
  {
    name: "test days: simulated car, wet, peak passed, set-up exact",
    day: { car: "first", surface: "wet", allowed: simulatedPasses, setUpOff: 0 },
    most: EXACT,
  },
  {
    name: "test days: simulated car, dry, peak passed, set-up 5 % off",
    day: { car: "first", surface: "dry", allowed: simulatedPasses, setUpOff: 0.05 },
    most: OFF,
  },
  {
    name: "test days: simulated car, dry, peak not reached",
    day: { car: "first", surface: "dry", allowed: holdsBack, setUpOff: 0 },
    most: EXACT,
  },
  {
    name: "test days: second car, wet, peak passed, set-up exact",
    day: { car: "second", surface: "wet", allowed: secondPasses, setUpOff: 0 },
    most: EXACT,
  },
  {
    name: "test days: second car, wet, peak passed, set-up 5 % off",
    day: { car: "second", surface: "wet", allowed: secondPasses, setUpOff: 0.05 },
    most: OFF,
  },
  {
    name: "test days: second car, wet, peak passed, no undriven wheels",
    day: { car: "second", surface: "wet", allowed: secondPasses, setUpOff: 0, kind: { undriven: false } },
    most: null,
  },
  {
    name: "test days: second car, dry, peak not reached",
    day: { car: "second", surface: "dry", allowed: [null, 0.03, 0.03, null], setUpOff: 0 },
    most: EXACT,
  },
  {
    name: "test days: second car, wet, held back, peak hardly reached or not",
    day: { car: "second", surface: "wet", allowed: holdsBack, setUpOff: 0 },
    most: EXACT,
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

/** `cases` days of each class whose name holds `only`. */
export async function sweepTune(cases: number, only: string): Promise<Sweep> {
  const pool = createPool<TuneJob, TuneCase>("./tune-worker.ts");
  const tables: string[] = [];
  const failures: string[] = [];
  for (const { name, day, most } of TUNE_CLASSES.filter((one) => one.name.includes(only))) {
    const judged = await pool.run(Array.from({ length: cases }, (_, i) => ({ seed: FIRST_SEED + i, day })));
    const lines = linesOf(judged, most);
    const counts = {
      passed: judged.filter((one) => one.passed === true).length,
      unsaid: judged.filter((one) => one.passed === true && !one.said).length,
      not: judged.filter((one) => one.passed === false).length,
      made: judged.filter((one) => one.passed === false && one.said).length,
    };
    tables.push(
      `### ${name}\n\n${cases} days of ${day.allowed.length} launches. Slip well passed its best on ${counts.passed}, of which ${counts.unsaid} were called not reached; it did not on ${counts.not}, of which ${counts.made} got a best slip.\n\n${TABLE_HEAD}\n${rowsOf(lines)}\n`,
    );
    failures.push(...lines.flatMap((line) => line.failures.map((failure) => `${name}: ${line.what}: ${failure}`)));
    if (counts.unsaid > 0)
      failures.push(`${name}: the peak was passed and called not reached on ${counts.unsaid} of ${counts.passed} days`);
    if (counts.made > 0) failures.push(`${name}: the peak was not reached and got a best slip on ${counts.made} of ${counts.not} days`);
  }
  await pool.close();
  return { table: tables.join("\n"), failures };
}

function linesOf(judged: readonly TuneCase[], most: TuneClass["most"]): ClaimLine[] {
  return (Object.keys(WHAT) as TuneFigure[]).flatMap((figure) => {
    const outcomes = judged.map((one) => one.outcomes[figure]).filter((outcome) => outcome !== undefined);
    if (outcomes.length === 0) return [];
    const promised = figure === "bestSlip" || figure === "peakFriction" ? (most?.[figure] ?? null) : null;
    return [claimLine({ what: WHAT[figure], outcomes, unit: "%", scale: 100, mostRms: promised })];
  });
}
