/**
 * Streams lost, repeated and doubled at any place of a launch, hundreds of times on both generators: whether the times then claimed still
 * hold, and whether the run says what happened.
 */
import type { DerivedRun } from "../../src/shared/run/run.ts";
import { createRandom, type Random } from "../support/second-car/random.ts";
import type { DriveClass } from "../support/second-car/recipe.ts";
import { applyFault, type DeviceLine, type Fault } from "../support/stream-faults.ts";
import { firstCarLines } from "./first-car.ts";
import type { Sweep } from "./decoy-sweep.ts";
import type { FaultJob } from "./fault-worker.ts";
import { gateErrors, type GateOutcome } from "./judge-case.ts";
import { derive } from "./known-drive.ts";
import { decodeLines, type LinedDrive, secondCarLines } from "./lined-drive.ts";
import { createPool } from "./pool.ts";
import { shareBand } from "./tally.ts";

interface FaultClass {
  readonly name: string;
  readonly kind: Fault["kind"];
  readonly streams: readonly DeviceLine["stream"][];
  /** Seconds, drawn evenly by logarithm. */
  readonly lengthS: readonly [number, number];
}

const SHORT = [0.2, 3] as const;
const LONG = [3, 20] as const;

export const FAULT_CLASSES: readonly FaultClass[] = [
  { name: "adapter lost for 0.2 to 3 s", kind: "hole", streams: ["can"], lengthS: SHORT },
  { name: "adapter lost for 3 to 20 s", kind: "hole", streams: ["can"], lengthS: LONG },
  { name: "receiver lost for 0.2 to 3 s", kind: "hole", streams: ["gnss"], lengthS: SHORT },
  { name: "receiver lost for 3 to 20 s", kind: "hole", streams: ["gnss"], lengthS: LONG },
  { name: "both lost for 0.2 to 3 s", kind: "hole", streams: ["can", "gnss"], lengthS: SHORT },
  { name: "both lost for 3 to 20 s", kind: "hole", streams: ["can", "gnss"], lengthS: LONG },
  { name: "frames ten times", kind: "tenfold", streams: ["can"], lengthS: LONG },
  { name: "packets and epochs twice", kind: "doubled", streams: ["can", "gnss"], lengthS: LONG },
];

const KINDS: readonly DriveClass[] = [
  { undriven: true },
  { undriven: true },
  { undriven: false },
  { undriven: false },
  { undriven: false, torque: false, motorSpeed: false },
];
const CALIBRATION_S = 60;
const BRAKING_S = 6;
/** A shorter part of it inside the launch removes no epoch. */
const SEEN_S = 0.15;

interface FaultCase {
  /** Of the launch that was driven; empty where no time is claimed. */
  readonly gates: readonly GateOutcome[];
  readonly found: number;
  /** Whether the fault was inside the launch, and whether the run's flags mention it. */
  readonly struck: boolean;
  readonly flagged: boolean;
  readonly fault: Fault;
  readonly told: boolean;
}

/** In one of three cases the fault covers an instant of the start, of the launch or of the braking; elsewhere it does no harm. */
function draw(one: FaultClass, { known }: LinedDrive, random: Random): Fault {
  const [launch] = known.launches;
  if (launch === undefined) throw new RangeError("Fault sweep: a drive without its launch");
  const lengthS = Math.exp(random.between(Math.log(one.lengthS[0]), Math.log(one.lengthS[1])));
  const { movementS, liftS } = launch;
  const struckS = random.pick([
    random.between(movementS - 0.3, movementS + 0.7),
    random.between(movementS + 0.7, liftS),
    random.between(liftS, liftS + BRAKING_S),
  ]);
  return { kind: one.kind, streams: one.streams, fromS: struckS - lengthS * random.next(), lengthS, restart: random.chance(0.5) };
}

const spokenOf = (run: DerivedRun) => run.flags.some(({ flag }) => flag === "frames" || flag === "receiver" || flag === "interrupted");

function judge(lined: LinedDrive, fault: Fault, told: boolean, random: Random): FaultCase {
  const known = decodeLines(lined, applyFault(lined.lines, fault, random), told);
  const [launch] = known.launches;
  if (launch === undefined) throw new RangeError("Fault sweep: a drive without its launch");
  const { runs } = derive(known.tracks, known.setUp);
  // The run of the launch that was driven. A run where no launch was driven is one too many; `found` counts those.
  const run = runs.find(({ movementS }) => Math.abs(movementS - launch.movementS) < 3);
  return {
    gates: run === undefined ? [] : gateErrors(launch, run),
    found: runs.length,
    struck: run !== undefined && fault.fromS < launch.liftS - SEEN_S && fault.fromS + fault.lengthS > launch.movementS + SEEN_S,
    flagged: run !== undefined && spokenOf(run),
    fault,
    told,
  };
}

const linesOf = (car: "first" | "second", seed: number, kind: DriveClass) =>
  car === "first" ? firstCarLines(seed, kind) : secondCarLines(seed, kind);

/** The adapter lost `afterS` into the launch for `lengthS`. */
export function lostAdapterCase(car: "first" | "second", seed: number, afterS: number, lengthS: number): FaultCase {
  const random = createRandom(seed);
  const lined = linesOf(car, seed, { calibrationS: CALIBRATION_S });
  const fromS = (lined.known.launches[0]?.movementS ?? Number.NaN) + afterS;
  return judge(lined, { kind: "hole", streams: ["can"], fromS, lengthS, restart: random.chance(0.5) }, false, random);
}

/** Every class of faults once, on one drive. */
export function faultCases(car: "first" | "second", seed: number): FaultCase[] {
  const random = createRandom(seed * 6007 + 13);
  const kind = { ...random.pick(KINDS), calibrationS: CALIBRATION_S };
  const lined = linesOf(car, seed, kind);
  return FAULT_CLASSES.map((one) => judge(lined, draw(one, lined, random), random.chance(0.5), random));
}

const FIRST_SEED = 90_000;
const GATES: readonly (readonly [string, string])[] = [
  ["0-60 mph", "movement"],
  ["60 ft", "movement"],
  ["30-60 mph", "entry"],
  ["60-0 mph", "entry"],
];
const LEAST_COVERAGE = 0.9;

/** `drives` of each car, every class of faults on each. */
export async function sweepFaults(drives: number): Promise<Sweep> {
  const pool = createPool<FaultJob, readonly FaultCase[]>("./fault-worker.ts");
  const rows: string[] = [];
  const failures: string[] = [];
  for (const car of ["first", "second"] as const) {
    const cases = await pool.run(Array.from({ length: drives }, (_, i) => ({ car, seed: FIRST_SEED + i })));
    FAULT_CLASSES.forEach(({ name }, k) => {
      const own = cases.flatMap((all) => all[k] ?? []);
      const where = `${car === "first" ? "simulated car" : "second car"}: ${name}`;
      const cells = GATES.map(([gate, start]) => {
        const claimed = own.flatMap((one) => one.gates.filter((g) => g.gate === gate && g.start === start));
        if (claimed.length === 0) return "none claimed";
        const inside = claimed.filter(({ error, plusMinus95 }) => Math.abs(error) <= plusMinus95).length;
        const [, high] = shareBand(inside, claimed.length);
        const share = `${((100 * inside) / claimed.length).toFixed(1)} %`;
        if (high < LEAST_COVERAGE) failures.push(`faults, ${where}: ${gate}: ${share} of ${claimed.length} inside, promised at least 90`);
        return `${share} of ${claimed.length}`;
      });
      const unspoken = own.filter(({ struck, flagged }) => struck && !flagged).length;
      const madeUp = own.filter(({ found }) => found > 1).length;
      if (unspoken > 0) failures.push(`faults, ${where}: ${unspoken} runs do not say what happened to them`);
      if (madeUp > 0) failures.push(`faults, ${where}: ${madeUp} drives with a launch made up`);
      rows.push(`| ${where} | ${own.length} | ${cells.join(" | ")} | ${unspoken} |`);
    });
  }
  await pool.close();
  const table = `### streams lost, repeated, doubled

A stream lost at any place of a launch or of its braking, its adapter's clock running on or begun anew, and frames or epochs that came more than once; all sources, without
undriven wheels, or the receiver alone. Share of the truths inside the printed interval, of those times that are still claimed; where a stream that was needed was lost, none is.

| fault | drives | 0-60 mph | 60 ft | 30-60 mph | 60-0 mph | struck runs without a flag |
| --- | --: | --: | --: | --: | --: | --: |
${rows.join("\n")}
`;
  return { table, failures };
}
