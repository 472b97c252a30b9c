/** One run's samples under the names and units that people see: the same columns for the screen and for CSV. Unknown stays NaN. Never fails. */
import { ofWord } from "../../../shared/kernel/by-word.ts";
import { KMH_PER_MPS } from "../../../shared/kernel/units.ts";
import { shownColumn, type Units } from "../../../shared/kernel/shown-units.ts";
import type { RunSamplesView } from "../../ports/book.ts";

export interface RunTable {
  readonly names: readonly string[];
  readonly units: readonly string[];
  readonly columns: readonly Float64Array[];
}

/** Roles that have a column of their own among the first ones, with its name. */
const NAMED_ROLES: Readonly<Record<string, string>> = {
  torqueRequest: "torqueRequestNm",
  torqueDelivered: "torqueDeliveredNm",
  pedal: "pedalPercent",
};

/** The same for people who read other units: names, units and values. */
export function inUnits({ names, units, columns }: RunTable, shown: Units): RunTable {
  const told = names.map((name, i) => shownColumn(shown, name, units[i] ?? ""));
  return {
    names: told.map(({ name }) => name),
    units: told.map(({ unit }) => unit),
    columns: columns.map((values, i) => values.map((value) => value * (told[i]?.factor ?? 1))),
  };
}

export function runTable({ samples, roleUnits }: RunSamplesView, movementS: number): RunTable {
  const unknown = new Float64Array(samples.tS.length).fill(Number.NaN);
  const kmh = (column: Float64Array) => column.map((value) => value * KMH_PER_MPS);
  const role = (name: string) => ofWord(samples.roles, name) ?? unknown;
  const columns: [name: string, unit: string, column: Float64Array][] = [
    ["timeS", "s", samples.tS.map((t) => t - movementS)],
    ["groundSpeedKmh", "km/h", kmh(samples.groundSpeedMps)],
    ["wheelSpeedKmh", "km/h", kmh(samples.wheelSpeedMps)],
    ["slipSpeedKmh", "km/h", kmh(samples.slipSpeedMps)],
    ["slipRatio", "", samples.slipRatio],
    ["torqueRequestNm", "Nm", role("torqueRequest")],
    ["torqueDeliveredNm", "Nm", role("torqueDelivered")],
    ["pedalPercent", "%", role("pedal")],
    ["distanceM", "m", samples.distanceM],
    ["accelerationMps2", "m/s2", samples.accelerationMps2],
    ["groundSpeedSigmaKmh", "km/h", kmh(samples.groundSpeedSigmaMps)],
    ["slipSigma", "", samples.slipSigma],
    ...Object.entries(samples.roles)
      .filter(([name]) => ofWord(NAMED_ROLES, name) === undefined)
      .map(([name, column]): [string, string, Float64Array] => [name, ofWord(roleUnits, name) ?? "", column]),
  ];
  return { names: columns.map(([name]) => name), units: columns.map(([, unit]) => unit), columns: columns.map(([, , column]) => column) };
}
