/**
 * Chooses runs by what is known of them: "surface=wet", "day>=2031-05-04", "tyre pressure<2.1", "run=1-12,15". All terms must hold. A term that
 * cannot be read, or names what no run has, throws RangeError with what there is.
 */
import { ofWord } from "../kernel/by-word.ts";
import type { JudgedRun } from "./judged-run.ts";
import { levelsOf, type StratifiedRun } from "./strata.ts";

export type FilteredRun = StratifiedRun & Pick<JudgedRun, "id" | "label" | "measured" | "use">;

const OPERATORS = ["!=", "<=", ">=", "=", "<", ">"] as const;
type Operator = (typeof OPERATORS)[number];

interface Term {
  readonly text: string;
  readonly key: string;
  readonly operator: Operator;
  /** More than one for "=" and "!=" alone. */
  readonly values: readonly string[];
}

/** What a run is under a key; empty where nothing is noted. */
type ValueOf<Run> = (run: Run) => string;

const plain = (text: string) => text.trim().toLowerCase();

/** "surface=wet; day>=2031-05-04" as terms. */
export const termsOf = (text: string): string[] =>
  text
    .split(";")
    .map((term) => term.trim())
    .filter((term) => term !== "");

function readTerm(text: string): Term {
  const at = /[!<>=]/.exec(text)?.index ?? -1;
  const operator = OPERATORS.find((known) => text.startsWith(known, at));
  const key = text.slice(0, Math.max(0, at)).trim();
  if (operator === undefined || key === "")
    throw new RangeError(`Expected a term such as "surface=wet", "day>=2031-05-04" or "run=1-12", got ${JSON.stringify(text)}`);
  const values = text
    .slice(at + operator.length)
    .split(",")
    .map(plain);
  const other = values.find((value) => /[^\s!<>=]\s*(?:!=|[<>=])/.test(value));
  if (other !== undefined)
    throw new RangeError(
      `Expected one term, got ${JSON.stringify(text)}: a comma means "or"; give ${JSON.stringify(other)} as a term of its own`,
    );
  if (operator !== "=" && operator !== "!=" && (values.length > 1 || values[0] === ""))
    throw new RangeError(`Expected one value after ${operator}, got ${JSON.stringify(text)}`);
  return { text, key, operator, values };
}

/** Numbers of runs: "7", "1-12,15". Throws RangeError for anything else. */
export function readRunNumbers(text: string): number[] {
  const numbers = text.split(",").flatMap((part) => {
    const match = /^\s*(\d{1,9})(?:\s*-\s*(\d{1,9}))?\s*$/.exec(part);
    const [from, to] = [Number(match?.[1]), Number(match?.[2] ?? match?.[1])];
    if (match === null || from < 1 || to < from || to - from > MOST_NUMBERS)
      throw new RangeError(`Expected a run's number, or several as in 1-12,15, got ${JSON.stringify(text)}; \`runs\` lists them`);
    return Array.from({ length: to - from + 1 }, (_, i) => from + i);
  });
  return [...new Set(numbers)];
}
/** No book holds more runs; a longer range is a slip of the finger. */
const MOST_NUMBERS = 1_000_000;

const LEADING_NUMBER = /^[-+]?\d+(?:\.\d+)?(?=$|[^\d.-])/;
/** The number that a text begins with: "2.1 bar" is 2.1; NaN for others. */
const numberIn = (text: string) => Number(LEADING_NUMBER.exec(text)?.[0] ?? Number.NaN);
/** What stands behind it: "bar". */
const behindNumber = (text: string) => text.replace(LEADING_NUMBER, "").trim();

/** Numbers as numbers, days and other words by their letters. */
function compareTexts(x: string, y: string): number {
  const [a, b] = [numberIn(x), numberIn(y)];
  if (!Number.isNaN(a) && !Number.isNaN(b)) return a - b;
  return x < y ? -1 : x > y ? 1 : 0;
}

function holds(value: string, { operator, values }: Term): boolean {
  const alike = (wanted: string) => value === wanted || isSameNumber(value, wanted);
  switch (operator) {
    case "=":
      return values.some(alike);
    case "!=":
      return !values.some(alike);
    default: {
      if (value === "") return false;
      const order = compareTexts(value, values[0] as string);
      return operator === "<" ? order < 0 : operator === "<=" ? order <= 0 : operator === ">" ? order > 0 : order >= 0;
    }
  }
}

/** "2.1" and "2.10 bar" name "2.1 bar", but "10 in" does not name "10 out". */
const isSameNumber = (value: string, wanted: string) =>
  numberIn(value) === numberIn(wanted) && ["", behindNumber(value)].includes(behindNumber(wanted));

/** What each key says of a run; a key that is none of ours is a condition noted or a value measured. */
function valuesOf<Run extends FilteredRun>(runs: readonly Run[]): (key: string) => ValueOf<Run> {
  const levels = levelsOf(runs);
  const unknown = /unknown$|^surface not noted$/;
  const level = (says: (run: StratifiedRun) => string) => (run: Run) => {
    const value = says(run);
    return unknown.test(value) ? "" : value;
  };
  const known: Readonly<Record<string, ValueOf<Run>>> = {
    label: (run) => run.label,
    use: (run) => (run.use ? "yes" : "no"),
    day: level(levels.day),
    surface: level(levels.surface),
    direction: (run) => level(levels.direction)(run).replace(/bound$/, ""),
    car: level(levels.car),
    plan: (run) => (run.planned === null ? "" : String(run.planned)),
  };
  return (key) => {
    const own = ofWord(known, plain(key));
    if (own !== undefined) return own;
    const noted = new Set(runs.flatMap((run) => [...Object.keys(run.conditions), ...Object.keys(run.measured)]));
    const name = [...noted].find((word) => plain(word) === plain(key));
    if (name === undefined)
      throw new RangeError(
        `No run has ${JSON.stringify(key)}: choose by run, ${[...new Set([...Object.keys(known), ...[...noted].sort()])].join(", ")}`,
      );
    return (run) => ofWord(run.conditions, name) ?? String(ofWord(run.measured, name) ?? "");
  };
}

/** The runs for which every term holds, in the same order. */
export function chooseRuns<Run extends FilteredRun>(runs: readonly Run[], where: readonly string[]): Run[] {
  const says = valuesOf(runs);
  return where
    .flatMap(termsOf)
    .map(readTerm)
    .reduce<Run[]>(
      (left, term) => {
        if (plain(term.key) === "run" && (term.operator === "=" || term.operator === "!=")) {
          const ids = new Set(readRunNumbers(term.values.join(",")));
          return left.filter((run) => ids.has(run.id) === (term.operator === "="));
        }
        const value = plain(term.key) === "run" ? (run: Run) => String(run.id) : says(term.key);
        return left.filter((run) => holds(plain(value(run)), term));
      },
      [...runs],
    );
}
