/**
 * Six drives that are not launches around one that is, hundreds of times on both generators: how many launches were missed or wrongly
 * found, in the whole recording and live.
 */
import { type DecoyCase, decoyDrive, launchesFound, watchLive } from "../support/decoy-drives.ts";

const FIRST_SEED = 70_000;
const NOISES = [0.02, 0.05, 0.1] as const;
const RATES = [5, 10, 20] as const;

interface Counts {
  drives: number;
  wrong: number;
  liveDrives: number;
  liveWrong: number;
  slowestSettleS: number;
}

/** The result of every sweep: a table for the page, and each broken promise. */
export interface Sweep {
  readonly table: string;
  readonly failures: readonly string[];
}

/** Noise, rate, behaviour at rest, correlation and calibration alternate; surface, ramp, order of the six and the rest are drawn. */
function caseOf(car: DecoyCase["car"], i: number): DecoyCase {
  const pick = <T>(list: readonly T[], by: number): T => list[Math.floor(i / by) % list.length] as T;
  return {
    car,
    seed: FIRST_SEED + i,
    noiseMps: pick(NOISES, 1),
    rateHz: pick(RATES, 3),
    hold: pick([false, true], 9),
    correlated: pick([false, true], 2),
    gentleS: pick([0, 40], 18),
    dry: false,
  };
}

function judge(one: DecoyCase, counts: Counts): void {
  const drive = decoyDrive(one);
  const dry = decoyDrive({ ...one, dry: true });
  const right = (found: readonly number[], movementS: number) => found.length === 1 && Math.abs(found[0] - movementS) < 1;
  counts.drives += 2;
  if (!right(launchesFound(drive, false), drive.movementS)) counts.wrong += 1;
  if (!right(launchesFound(dry, true), dry.movementS)) counts.wrong += 1;
  const live = watchLive(drive);
  counts.liveDrives += 1;
  if (live.runs !== 1 || live.unsettled > 0) counts.liveWrong += 1;
  if (live.slowestSettleS > counts.slowestSettleS) counts.slowestSettleS = live.slowestSettleS;
}

/** `cases` drives of each car. */
export function sweepDecoys(cases: number): Sweep {
  const rows: string[] = [];
  const failures: string[] = [];
  for (const car of ["first", "second"] as const) {
    const name = car === "first" ? "simulated car" : "second car";
    const counts: Counts = { drives: 0, wrong: 0, liveDrives: 0, liveWrong: 0, slowestSettleS: 0 };
    for (let i = 0; i < cases; i += 1) judge(caseOf(car, i), counts);
    rows.push(
      `| ${name} | ${counts.drives} | ${counts.wrong} | ${counts.liveDrives} | ${counts.liveWrong} | ${counts.slowestSettleS.toFixed(2)} s |`,
    );
    if (counts.wrong > 0) failures.push(`decoys, ${name}: ${counts.wrong} of ${counts.drives} drives with a launch missed or made up`);
    if (counts.liveWrong > 0)
      failures.push(
        `decoys, ${name}: ${counts.liveWrong} of ${counts.liveDrives} drives with a run missed, made up or left unsettled live`,
      );
    if (counts.slowestSettleS > 1) failures.push(`decoys, ${name}: a gate settled after ${counts.slowestSettleS.toFixed(2)} s, promised 1`);
  }
  const table = `### decoys

False start, creep, push, reverse, spin on the spot and driving away slowly in a random order, one launch among them; noise 0.02, 0.05 and 0.10 m/s,
white or correlated, 5, 10 and 20 Hz, held at rest or not, calibrated or not. Half of the drives with the receiver alone (those on dry roads: without a pedal
only a launch over 2.5 m/s2 is one).

| generator | drives seen whole | missed or made up | drives seen live | missed, made up or unsettled | slowest gate to settle |
| --- | --: | --: | --: | --: | --: |
${rows.join("\n")}
`;
  return { table, failures };
}
