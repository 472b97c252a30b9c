/**
 * Flags that need the other runs: charge or temperature unlike the group's, a direction without a return run, the slope of a strip. Sets no
 * run aside.
 */
import { median } from "../kernel/statistics.ts";
import { courseWords } from "./course-words.ts";
import { STANDARD_GRAVITY_MPS2 } from "../kernel/units.ts";
import type { Flag, SlopeSigns } from "./run.ts";
import { type Grade, type TwoWaySlope, twoWaySlope } from "./two-way-slope.ts";

/** What the group flags look at: a derived run's figures and its label. */
export interface GroupedRun {
  readonly uid: string;
  readonly label: string;
  /** False where a person set the run aside: it then counts neither as a return run nor as a measure for others. */
  readonly use: boolean;
  /** The day driven; null unknown, which is taken as one day. */
  readonly day: string | null;
  readonly courseDeg: number | null;
  readonly altitudeChangeM: number | null;
  readonly slopeSigns?: SlopeSigns;
  readonly measured: Readonly<Record<string, number | null>>;
}

/** A run of known direction; only these are paired or assigned to a strip. */
type CoursedRun = GroupedRun & { readonly courseDeg: number };
const isCoursed = (run: GroupedRun): run is CoursedRun => run.courseDeg !== null;

// Common practice, no source: beyond these, power falls noticeably.
const MOST_CHARGE_POINTS = 15;
const MOST_KELVIN = 15;
const OPPOSITE_WITHIN_DEG = 30;
/** Runs further apart than this were on different strips; no strip is longer. */
const SAME_STRIP_M = 5000;
/** 0.5 % is 0.05 m/s2: about 1 % of a launch's time, as much as a change of setting may bring. */
const LEAST_GRADE = 0.005;
/** Mean radius of the earth, IUGG. */
const M_PER_DEGREE = (Math.PI / 180) * 6_371_008.8;

const TEMPERATURES = [
  ["batteryTemperature", "The battery"],
  ["motorTemperature", "The motor"],
  ["inverterTemperature", "The inverter"],
] as const;

/** Flags by uid for all runs of a book, in order of time. Runs with one label of one day are a group: charge, air and
 * wind of another day are no measure. Runs without flags are absent. */
export function flagGroups(runs: readonly GroupedRun[]): Map<string, Flag[]> {
  const flags = new Map<string, Flag[]>();
  const add = (run: GroupedRun, flag: Flag) => flags.set(run.uid, [...(flags.get(run.uid) ?? []), flag]);
  for (const group of groupsOf(runs)) {
    outOfLine(group, add);
    for (const run of unpaired(group.filter(({ use }) => use))) {
      add(run, {
        flag: "unpaired",
        why: `Driven towards the ${courseWords(run.courseDeg)}, with no ${group.some((other) => other.use && isReturnOf(other, run)) ? "further run of its group the other way that day (each is set against one run)" : "run of its group the other way that day"} to set against slope and wind.`,
      });
    }
  }
  for (const strip of stripsOf(runs)) slope(strip, add);
  return flags;
}

function groupsOf(runs: readonly GroupedRun[]): Iterable<readonly GroupedRun[]> {
  const groups = new Map<string, GroupedRun[]>();
  for (const run of runs) {
    const key = JSON.stringify([run.label, run.day]);
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [run]);
    else group.push(run);
  }
  return groups.values();
}

function outOfLine(group: readonly GroupedRun[], add: (run: GroupedRun, flag: Flag) => void): void {
  const middleOf = (role: string) => median(group.filter(({ use }) => use).map((run) => run.measured[role] ?? Number.NaN));
  const charge = middleOf("stateOfCharge");
  const temperatures = TEMPERATURES.map(([role, words]) => ({ role, words, middle: middleOf(role) }));
  for (const run of group) {
    const own = run.measured.stateOfCharge ?? Number.NaN;
    if (Math.abs(own - charge) > MOST_CHARGE_POINTS) {
      add(run, { flag: "charge", why: `Charge was ${own.toFixed(0)} %, the group's middle is ${charge.toFixed(0)} %.` });
    }
    for (const { role, words, middle } of temperatures) {
      const value = run.measured[role] ?? Number.NaN;
      if (Math.abs(value - middle) > MOST_KELVIN) {
        add(run, { flag: "temperature", why: `${words} was at ${value.toFixed(0)} °C, the group's middle is ${middle.toFixed(0)} °C.` });
      }
    }
  }
}

const turnDeg = (a: number, b: number) => ((a - b + 540) % 360) - 180;
const isOpposite = (a: CoursedRun, b: CoursedRun) => Math.abs(Math.abs(turnDeg(a.courseDeg, b.courseDeg)) - 180) < OPPOSITE_WITHIN_DEG;
const isAlike = (a: CoursedRun, b: CoursedRun) => Math.abs(turnDeg(a.courseDeg, b.courseDeg)) < OPPOSITE_WITHIN_DEG;

/** Unknown places count as the same place. */
function isNear({ slopeSigns: a }: GroupedRun, { slopeSigns: b }: GroupedRun): boolean {
  if (!a?.place || !b?.place) return true;
  const north = (a.place.latDeg - b.place.latDeg) * M_PER_DEGREE;
  const east = (a.place.lonDeg - b.place.lonDeg) * M_PER_DEGREE * Math.cos((a.place.latDeg * Math.PI) / 180);
  return Math.hypot(north, east) < SAME_STRIP_M;
}

const isReturnOf = (other: GroupedRun, run: CoursedRun) => isCoursed(other) && isOpposite(run, other) && isNear(run, other);

/**
 * Pairs each run with the earliest free run in the other direction on its strip; runs left over have no return run. Runs of unknown course
 * are left out.
 */
function unpaired(runs: readonly GroupedRun[]): CoursedRun[] {
  const free: CoursedRun[] = [];
  for (const run of runs.filter(isCoursed)) {
    const partner = free.findIndex((other) => isReturnOf(other, run));
    if (partner >= 0) free.splice(partner, 1);
    else free.push(run);
  }
  return free;
}

/** Runs by strip; the first run's course is the direction along the strip. */
function stripsOf(runs: readonly GroupedRun[]): CoursedRun[][] {
  const strips: CoursedRun[][] = [];
  for (const run of runs.filter(isCoursed)) {
    if (!run.use) continue;
    const strip = strips.find(([first]) => first && isNear(run, first) && (isAlike(run, first) || isOpposite(run, first)));
    if (strip) strip.push(run);
    else strips.push([run]);
  }
  return strips;
}

const percent = ({ value, plusMinus95 }: Grade, sign: number) => `${(100 * sign * value).toFixed(1)} ± ${(100 * plusMinus95).toFixed(1)} %`;

/** The slope in words for one run's direction: `sign` is 1 along the strip. */
function slopeWords({ altitude, torque, grade }: TwoWaySlope, sign: number, courseDeg: number, there: number, back: number): string {
  const up = sign * grade.value > 0;
  const told = [
    ...(torque === null
      ? []
      : [
          `at the same torque it gathered ${Math.abs(STANDARD_GRAVITY_MPS2 * torque.value).toFixed(2)} m/s² ${sign * torque.value > 0 ? "less" : "more"} than the mean of both ways (as ${percent(torque, sign)} of slope would do, or a wind)`,
        ]),
    ...(altitude === null ? [] : [`altitude says ${percent(altitude, sign)}`]),
  ];
  return `The road ${up ? "rises" : "falls"} by ${percent({ ...grade, value: Math.abs(grade.value) }, 1)} towards the ${courseWords(courseDeg)}, from ${there} runs one way and ${back} the other: ${told.join("; ")}. As many runs each way cancel it.`;
}

function slope(strip: readonly CoursedRun[], add: (run: GroupedRun, flag: Flag) => void): void {
  const [first] = strip;
  if (!first) return;
  const along = (run: CoursedRun) => isAlike(run, first);
  const seen = twoWaySlope(
    strip.flatMap((run) =>
      run.slopeSigns ? [{ label: run.label, alongStrip: along(run), altitudeChangeM: run.altitudeChangeM, signs: run.slopeSigns }] : [],
    ),
  );
  if (seen === null || Math.abs(seen.grade.value) < Math.max(LEAST_GRADE, seen.grade.plusMinus95)) return;
  const there = strip.filter(along).length;
  for (const run of strip) {
    const why = along(run)
      ? slopeWords(seen, 1, run.courseDeg, there, strip.length - there)
      : slopeWords(seen, -1, run.courseDeg, strip.length - there, there);
    add(run, { flag: "slope", why });
  }
}
