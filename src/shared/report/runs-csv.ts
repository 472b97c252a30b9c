/** Many runs as one CSV (RFC 4180): the archive's columns, one row a run, and a column for each condition that any of them has. Unknown is an empty field. */
import { isoUtc } from "../kernel/civil-date.ts";
import { ofWord } from "../kernel/by-word.ts";
import { settingOf } from "../judge/settings.ts";
import { csvField, inert } from "./csv.ts";
import { type ArchivedRun, type Cell, RUN_COLUMNS, runRow } from "./runs-table.ts";

interface RunsCsv {
  readonly names: readonly string[];
  readonly units: readonly string[];
  readonly text: string;
}

const LINE_END = "\r\n";
/** Flags, conditions and gates have columns of their own, or words. */
const IN_WORDS: Readonly<Record<string, (run: ArchivedRun) => string>> = {
  startedAt: ({ startedAtUtcMs }) => (startedAtUtcMs === null ? "" : isoUtc(startedAtUtcMs)),
  flags: ({ flags }) => flags.map(({ flag }) => flag).join(" "),
};
const LEFT_OUT: readonly string[] = ["conditions", "gates", "samplesPath", "surface"];

const field = (cell: Cell): string => (cell === null ? "" : typeof cell === "string" ? csvField(inert(cell)) : String(cell));

/** A condition named as one of our columns is told apart by what it is. */
const conditionName = (key: string) => (RUN_COLUMNS.some(({ name }) => name === key && !LEFT_OUT.includes(name)) ? `${key} (noted)` : key);

interface ConditionColumn {
  readonly key: string;
  readonly unit: string;
  readonly of: (run: ArchivedRun) => Cell;
}

/** Numbers where every run's text is a number of the same unit, which then is the column's; else the texts as noted. */
function conditionColumns(runs: readonly ArchivedRun[]): ConditionColumn[] {
  const keys = [...new Set(runs.flatMap(({ conditions }) => Object.keys(conditions)))].sort();
  return keys.map((key) => {
    const text = ({ conditions }: ArchivedRun) => ofWord(conditions, key) ?? null;
    const read = runs.flatMap((run) => text(run) ?? []).map(settingOf);
    const units = [...new Set(read.map((setting) => setting?.unit ?? null))];
    const [unit = null] = units;
    if (units.length > 1 || unit === null) return { key, unit: "", of: text };
    return { key, unit, of: (run) => settingOf(text(run) ?? "")?.value ?? null };
  });
}

export function runsCsv(runs: readonly ArchivedRun[], unitsRow = false): RunsCsv {
  const noted = conditionColumns(runs);
  const columns = RUN_COLUMNS.map((column, i) => ({ ...column, i })).filter(({ name }) => !LEFT_OUT.includes(name));
  const names = [...columns.map(({ name }) => name), ...noted.map(({ key }) => conditionName(key))];
  const units = [...columns.map(({ unit }) => unit), ...noted.map(({ unit }) => unit)];
  const rows = runs.map((run) => {
    const cells = runRow(run);
    const own = columns.map(({ name, i }) => field(ofWord(IN_WORDS, name)?.(run) ?? (cells[i] as Cell)));
    return [...own, ...noted.map(({ of }) => field(of(run)))];
  });
  const heads = [names, ...(unitsRow ? [units] : [])].map((row) => row.map(field));
  return { names, units, text: [...heads, ...rows].map((row) => row.join(",") + LINE_END).join("") };
}
