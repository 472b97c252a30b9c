/**
 * Days of both generators, right and with each mistake in wiring: how often a mistake is named by its kind, and how often one is named where there
 * is none.
 */
import { alignRecording } from "../../src/shared/align/align-recording.ts";
import { calibrate } from "../../src/shared/align/calibrate.ts";
import { driveFaults } from "../../src/shared/pipeline/wiring-faults.ts";
import { nominalRollingRadiusM, parseTyreSize } from "../../src/shared/setup/tyre-size.ts";
import type { DriveClass } from "../support/second-car/recipe.ts";
import { createRandom } from "../support/second-car/random.ts";
import { MISTAKES, type Wired } from "../support/wrong-wiring.ts";
import type { Sweep } from "./decoy-sweep.ts";
import { firstCarDrive } from "./first-car.ts";
import { type KnownDrive, secondCarDrive } from "./known-drive.ts";
import { createPool } from "./pool.ts";

export const WIRING_NAME = "wiring";
const FIRST_SEED = 310_000;
/** A tenth of the days are also driven with every mistake. */
const MISTAKEN_EACH = 10;
/** Of the days with a mistake, as shares: a mistake that the driving hardly shows may stay unnamed. */
const LEAST_NAMED = 0.95;
/** A tyre's radius lies within this of its marking, as a share: new tyres of one marking (from memory). */
const MARKING_SHARE = 0.015;

const KINDS: readonly DriveClass[] = [
  {},
  { surface: "wet", control: false },
  { undriven: false },
  { noiseMps: 0.1, correlated: true },
  { rateHz: 5 },
  { rateHz: 20 },
  { stamps: false },
  { launches: 4 },
  { launches: 2, phases: [{ kind: "spin" }, { kind: "reverse" }, { kind: "creep" }, { kind: "slowAway" }, { kind: "rest", seconds: 5 }] },
  { calibrationS: 40 },
];

export interface WiringJob {
  readonly car: "first" | "second";
  readonly seed: number;
  readonly kind: DriveClass;
  readonly mistaken: boolean;
}

interface WiringResult {
  /** What was named on the right day; empty as it should be. */
  readonly made: readonly string[];
  /** Kinds named for each mistake, in their order; empty where none was made. */
  readonly named: readonly (readonly string[])[];
}

/** The second car's owner writes the tyre's marking, as the simulated one's does. */
function marked({ setUp, rollingRadiusM }: KnownDrive, seed: number): KnownDrive["setUp"] {
  const wanted = rollingRadiusM * (1 + createRandom(seed).between(-MARKING_SHARE, MARKING_SHARE));
  let [tyre, off] = ["", Number.POSITIVE_INFINITY];
  for (let width = 195; width <= 305; width += 10)
    for (let aspect = 30; aspect <= 60; aspect += 5)
      for (let rim = 15; rim <= 20; rim += 1) {
        const marking = `${width}/${aspect}R${rim}`;
        const apart = Math.abs(nominalRollingRadiusM(parseTyreSize(marking)) - wanted);
        if (apart < off) [tyre, off] = [marking, apart];
      }
  const { rollingRadiusM: _entered, ...car } = setUp.car;
  return { ...setUp, car: { ...car, tyre } };
}

function faultsOf({ tracks, setUp }: Wired) {
  const recording = alignRecording(tracks, setUp);
  return driveFaults(recording, setUp, calibrate(recording, setUp, null));
}

export function judgeWiring({ car, seed, kind, mistaken }: WiringJob): WiringResult {
  const drive = car === "first" ? firstCarDrive(seed, kind) : secondCarDrive(seed, kind, false);
  const right = { tracks: drive.tracks, setUp: car === "first" ? drive.setUp : marked(drive, seed) };
  return {
    made: faultsOf(right).map(({ kind: what, seen }) => `${what}: ${seen}`),
    named: mistaken ? MISTAKES.map(({ make }) => faultsOf(make(right)).map((fault) => fault.kind)) : [],
  };
}

/** `cases` days of each car. */
export async function sweepWiring(cases: number): Promise<Sweep> {
  const jobs = (["first", "second"] as const).flatMap((car) =>
    Array.from({ length: cases }, (_, i): WiringJob => {
      const kind = KINDS[i % KINDS.length] as DriveClass;
      return { car, seed: FIRST_SEED + i, kind, mistaken: Math.floor(i / KINDS.length) % MISTAKEN_EACH === 0 };
    }),
  );
  const pool = createPool<WiringJob, WiringResult>("./wiring-worker.ts");
  const results = await pool.run(jobs);
  await pool.close();
  const failures: string[] = [];
  const wrong = results.flatMap(({ made }, i) =>
    made.length === 0 ? [] : [`${jobs[i]?.car} car, seed ${jobs[i]?.seed}: ${made.join("; ")}`],
  );
  for (const words of wrong) failures.push(`wiring: named on a right day: ${words}`);
  const rows = MISTAKES.map(({ name, kind }, m) => {
    const cells = (["first", "second"] as const).map((car) => {
      const tried = results.filter(({ named }, i) => jobs[i]?.car === car && named.length > 0);
      const found = tried.filter(({ named }) => named[m]?.includes(kind)).length;
      if (found < LEAST_NAMED * tried.length) failures.push(`wiring: ${name}: named on ${found} of ${tried.length} days of the ${car} car`);
      return `${found} of ${tried.length}`;
    });
    return `| ${name} | ${cells.join(" | ")} |`;
  });
  const table = `### wiring

${jobs.length} right days, half of each generator: dry and wet, with and without undriven wheels, 5 to 20 Hz, noise to 0.1 m/s, without stamps, several launches, spin on the spot, reversing, little gentle driving. A wiring was called wrong on ${wrong.length} of them. A tenth of the days once more with each mistake:

| mistake | named, simulated car | named, second car |
| --- | --: | --: |
${rows.join("\n")}
`;
  return { table, failures };
}
