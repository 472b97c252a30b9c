/** Columns of the archive's three tables (docs/archive.md): one row a run, one row a noted condition, and one row a sample. Names, types and units are a promise: columns are only ever added. */
import { STANDARD_GATES, startOfGate } from "../launch/gate.ts";
import type { GateResult } from "../launch/gate-result.ts";
import type { SlipSummary } from "../run/run.ts";
import { DAY_MS, isoDate } from "../kernel/civil-date.ts";
import { isGivenName, NAME_REMEDY, nameForPath } from "../kernel/file-name.ts";
import { settingOf } from "../judge/settings.ts";
import { LIST_ROLES, SINGLE_ROLES } from "../setup/roles.ts";
import type { RunTune } from "./run-tune.ts";

/** Increased by one when a column is added. */
export const ARCHIVE_SCHEMA = 2;

type ColumnType = "STRING" | "BOOLEAN" | "INT32" | "FLOAT" | "DOUBLE" | "TIMESTAMP" | "JSON";

/** Null is unknown. A TIMESTAMP is ms since 1970 UTC; JSON is a value that JSON can hold. */
export type Cell = string | number | boolean | null | object;

export interface TableColumn {
  readonly name: string;
  readonly type: ColumnType;
  readonly unit: string;
  readonly what: string;
}

/** A stored run as the archive needs it. */
export interface ArchivedRun {
  readonly uid: string;
  readonly car: string;
  readonly startedAtUtcMs: number | null;
  readonly label: string;
  readonly use: boolean;
  readonly note: string;
  readonly final: boolean;
  readonly courseDeg: number | null;
  readonly altitudeChangeM: number | null;
  readonly gates: readonly GateResult[];
  readonly slip: SlipSummary;
  readonly flags: readonly { readonly flag: string; readonly why: string }[];
  readonly measured: Readonly<Record<string, number | null>>;
  readonly conditions: Readonly<Record<string, string>>;
  readonly rollingRadiusM: { readonly value: number; readonly plusMinus95: number; readonly from: string } | null;
  readonly gnssDelayS: { readonly value: number; readonly plusMinus95: number; readonly from: string } | null;
  readonly tune: RunTune;
  readonly softwareVersion: string;
}

type RunColumn = TableColumn & { readonly of: (run: ArchivedRun) => Cell };

const known = (value: number | undefined | null): number | null => (typeof value === "number" && Number.isFinite(value) ? value : null);

/** "0-60 mph" to "0_60_mph": safe in every query language. */
function gateKey(gate: string): string {
  return gate.toLowerCase().replace(/[^a-z0-9]+/g, "_");
}

/** UTC day as YYYY-MM-DD; "undated" where the receiver gave no date. */
export const dayOf = (startedAtUtcMs: number | null): string =>
  startedAtUtcMs === null ? "undated" : isoDate(Math.floor(startedAtUtcMs / DAY_MS));

/**
 * Path of a run's samples in the archive's folder. Two cars whose names differ only in punctuation share a folder, but not their rows. A
 * run name that Gripbook cannot have made throws RangeError, since a book from elsewhere may hold anything.
 */
export function samplesPath(run: Pick<ArchivedRun, "uid" | "car" | "startedAtUtcMs">): string {
  if (!isGivenName(run.uid)) throw new RangeError(`A run's name can be no file's: ${NAME_REMEDY}`);
  return `samples/car=${nameForPath(run.car, "unnamed")}/day=${dayOf(run.startedAtUtcMs)}/run-${run.uid}.parquet`;
}

/** Each standard gate from its usual start. */
function gateColumns(): RunColumn[] {
  return STANDARD_GATES.flatMap((standard) => {
    const [{ name }, start] = [standard, startOfGate(standard)];
    const result = (run: ArchivedRun) => run.gates.find((gate) => gate.gate === name && gate.start === start);
    const key = gateKey(name);
    return [
      { name: `seconds_${key}`, type: "DOUBLE", unit: "s", what: `${name} from ${start}`, of: (run) => known(result(run)?.seconds) },
      {
        name: `plusMinus95_${key}`,
        type: "DOUBLE",
        unit: "s",
        what: "half width of its 95 % interval",
        of: (run) => known(result(run)?.plusMinus95),
      },
    ] satisfies RunColumn[];
  });
}

function measuredColumns(): RunColumn[] {
  const roles = ["stateOfCharge", "batteryTemperature", "motorTemperature", "inverterTemperature"] as const;
  return roles.map((role) => ({
    name: role,
    type: "DOUBLE",
    unit: SINGLE_ROLES[role],
    what: "at the start, from the bus",
    of: (run) => known(run.measured[role]),
  }));
}

/** Grip and lost time: how it is defined is in docs/design.md. */
function tuneColumns(): RunColumn[] {
  const column = (name: string, unit: string, what: string, of: (tune: RunTune) => number | null): RunColumn => ({
    ...{ name, type: "DOUBLE", unit, what },
    of: ({ tune }) => known(of(tune)),
  });
  return [
    column("bestSlip", "1", "slip of most grip on this surface", (tune) => tune.bestSlip),
    column("peakFriction", "1", "greatest friction used on this surface", (tune) => tune.peakFriction),
    column("ownGrip", "1", "this run's friction over its surface's", (tune) => tune.ownGrip),
    { name: "lossGate", type: "STRING", unit: "", what: "gate at which lost time is counted", of: ({ tune }) => tune.gate },
    column("quickestS", "s", "least time that grip, torque and power allow", (tune) => tune.quickestS),
    column("lostSpinS", "s", "lost to spin", (tune) => tune.losses?.spin ?? null),
    column("lostHeldBackS", "s", "lost to torque held back", (tune) => tune.losses?.heldBack ?? null),
    column("lostAskedLateS", "s", "lost because less than full torque was asked", (tune) => tune.losses?.askedLate ?? null),
    column("lostRestS", "s", "lost to the rest", (tune) => tune.losses?.rest ?? null),
    { name: "lossWhy", type: "STRING", unit: "", what: "why no lost time is known", of: ({ tune }) => tune.why },
  ];
}

const RUN_COLUMNS_WITH_VALUES: readonly RunColumn[] = [
  { name: "runUid", type: "STRING", unit: "", what: "stable name of the launch, the same in every book", of: (run) => run.uid },
  { name: "car", type: "STRING", unit: "", what: "name in the set-up", of: (run) => run.car },
  { name: "day", type: "STRING", unit: "", what: "UTC day, YYYY-MM-DD, or undated", of: (run) => dayOf(run.startedAtUtcMs) },
  { name: "startedAt", type: "TIMESTAMP", unit: "UTC", what: "start movement", of: (run) => known(run.startedAtUtcMs) },
  { name: "label", type: "STRING", unit: "", what: "group", of: (run) => run.label },
  { name: "inUse", type: "BOOLEAN", unit: "", what: "false: set aside by a person", of: (run) => run.use },
  { name: "note", type: "STRING", unit: "", what: "why, in that person's words", of: (run) => run.note },
  { name: "final", type: "BOOLEAN", unit: "", what: "false: provisional, the recording was open", of: (run) => run.final },
  { name: "courseDeg", type: "DOUBLE", unit: "deg", what: "true course of the launch", of: (run) => known(run.courseDeg) },
  { name: "altitudeChangeM", type: "DOUBLE", unit: "m", what: "over the launch", of: (run) => known(run.altitudeChangeM) },
  { name: "surface", type: "STRING", unit: "", what: "condition noted under surface", of: (run) => run.conditions.surface ?? null },
  { name: "peakSlipSpeedKmh", type: "DOUBLE", unit: "km/h", what: "wR - v", of: (run) => known(run.slip.peakSlipSpeedKmh) },
  { name: "peakSlipRatio", type: "DOUBLE", unit: "1", what: "(wR - v) / v, above 10 km/h", of: (run) => known(run.slip.peakSlipRatio) },
  {
    name: "secondsAbove10Percent",
    type: "DOUBLE",
    unit: "s",
    what: "slip ratio over 0.1",
    of: (run) => known(run.slip.secondsAbove10Percent),
  },
  ...measuredColumns(),
  ...gateColumns(),
  { name: "rollingRadiusM", type: "DOUBLE", unit: "m", what: "used for this run", of: (run) => known(run.rollingRadiusM?.value) },
  {
    name: "rollingRadiusPlusMinus95",
    type: "DOUBLE",
    unit: "m",
    what: "half width of its 95 % interval",
    of: (run) => known(run.rollingRadiusM?.plusMinus95),
  },
  {
    name: "rollingRadiusFrom",
    type: "STRING",
    unit: "",
    what: "calibrated, set-up or unknown",
    of: (run) => run.rollingRadiusM?.from ?? null,
  },
  { name: "gnssDelayS", type: "DOUBLE", unit: "s", what: "used for this run", of: (run) => known(run.gnssDelayS?.value) },
  ...tuneColumns(),
  { name: "flags", type: "JSON", unit: "", what: "list of {flag, why}", of: (run) => run.flags },
  { name: "conditions", type: "JSON", unit: "", what: "everything noted, by key", of: (run) => run.conditions },
  { name: "gates", type: "JSON", unit: "", what: "every gate, as in show", of: (run) => run.gates },
  { name: "samplesPath", type: "STRING", unit: "", what: "file of the samples, relative to the archive", of: samplesPath },
  { name: "softwareVersion", type: "STRING", unit: "", what: "Gripbook that wrote the row", of: (run) => run.softwareVersion },
];

export const RUN_COLUMNS: readonly TableColumn[] = RUN_COLUMNS_WITH_VALUES;

/** The cells of one row, in the order of RUN_COLUMNS. */
export function runRow(run: ArchivedRun): Cell[] {
  return RUN_COLUMNS_WITH_VALUES.map((column) => column.of(run));
}

/** One row for each condition of each run. */
export const CONDITION_COLUMNS: readonly TableColumn[] = [
  { name: "runUid", type: "STRING", unit: "", what: "joins with the table of runs" },
  { name: "condition", type: "STRING", unit: "", what: "what was noted: slip target, surface ..." },
  { name: "text", type: "STRING", unit: "", what: "as noted, 8 %" },
  { name: "number", type: "DOUBLE", unit: "of the row", what: "8; null where the text is no number" },
  { name: "unit", type: "STRING", unit: "", what: "%; null where the text is no number" },
];

/** The rows of one run, in the order of CONDITION_COLUMNS. */
export const conditionRows = ({ uid, conditions }: Pick<ArchivedRun, "uid" | "conditions">): Cell[][] =>
  Object.entries(conditions).map(([condition, text]) => {
    const { value = null, unit = null } = settingOf(text) ?? {};
    return [uid, condition, text, value, unit];
  });

/** Two sensors for each wheel, as in the book. */
const MOST_SENSORS = 4;
const NAMED_ROLES: readonly string[] = ["torqueRequest", "torqueDelivered", "pedal"];

/** "undrivenWheelSpeeds.0" to "undrivenWheelSpeeds_0": no quotes needed in a query. */
export function sampleColumnName(name: string): string {
  return name.replaceAll(".", "_");
}

/**
 * Columns of every sample file, in order; one that a car does not have is null throughout. Wheel sensors are in m/s or rad/s (the file's
 * own `units` say which).
 */
export const SAMPLE_COLUMNS: readonly TableColumn[] = [
  { name: "runUid", type: "STRING", unit: "", what: "joins with the table of runs" },
  { name: "timeS", type: "DOUBLE", unit: "s", what: "0 at start movement" },
  { name: "groundSpeedKmh", type: "FLOAT", unit: "km/h", what: "best estimate, never from the driven wheels" },
  { name: "wheelSpeedKmh", type: "FLOAT", unit: "km/h", what: "driven axle, from motor speed" },
  { name: "slipSpeedKmh", type: "FLOAT", unit: "km/h", what: "wheel less ground" },
  { name: "slipRatio", type: "FLOAT", unit: "1", what: "(wR - v) / v, unknown below 10 km/h" },
  { name: "torqueRequestNm", type: "FLOAT", unit: "Nm", what: "asked, before traction control" },
  { name: "torqueDeliveredNm", type: "FLOAT", unit: "Nm", what: "at the motor shaft, driving positive" },
  { name: "pedalPercent", type: "FLOAT", unit: "%", what: "accelerator" },
  { name: "distanceM", type: "FLOAT", unit: "m", what: "from start movement" },
  { name: "accelerationMps2", type: "FLOAT", unit: "m/s2", what: "of the ground speed" },
  { name: "groundSpeedSigmaKmh", type: "FLOAT", unit: "km/h", what: "standard deviation" },
  { name: "slipSigma", type: "FLOAT", unit: "1", what: "standard deviation of the ratio" },
  ...Object.entries(SINGLE_ROLES)
    .filter(([role]) => !NAMED_ROLES.includes(role))
    .map(([role, unit]): TableColumn => ({ name: role, type: "FLOAT", unit, what: "role of the set-up" })),
  ...LIST_ROLES.flatMap((role) =>
    Array.from(
      { length: MOST_SENSORS },
      (_, i): TableColumn => ({ name: `${role}_${i}`, type: "FLOAT", unit: "m/s or rad/s", what: `sensor ${i} of the list` }),
    ),
  ),
];
