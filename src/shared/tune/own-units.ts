/**
 * A change in the person's own units, where the parameter was noted with the runs: "slip target" = "8 %", or as changed, "6 -> 8 %". Null
 * where none or more than one was noted.
 */

export interface OwnUnits {
  /** The parameter's name as noted. */
  readonly parameter: string;
  readonly now: number;
  /** The parameter's next value, if it is proportional to what was measured. */
  readonly next: number;
  readonly unit: string;
}

/** Words in a parameter's name that show what it changes (common words of the trade, no source). */
const NAMED: Readonly<Record<"slip" | "late" | "ask", RegExp>> = {
  slip: /\bslip\b/i,
  late: /\b(delay|late(ncy)?|filter|response|reaction|interval|period)\b/i,
  ask: /\b(ramp|rise|pedal|soft start)\b/i,
};

const CHANGED = /^changed /;
/** "8 %", "6 -> 8 %", "12,5 ms". */
const VALUE = /^(?:.*->)?[\s\u00a0]*([-+]?\d+(?:[.,]\d+)?)[\s\u00a0]*([^\d\s].*)?$/;

/** Two significant digits, as people set parameters. */
const rounded = (value: number) => Number(value.toPrecision(2));

/** `conditions` of every run of the group; only a value that all runs share is a setting. */
export function ownUnits(
  conditions: readonly Readonly<Record<string, string>>[],
  kind: keyof typeof NAMED,
  times: number,
): OwnUnits | null {
  const [first = {}] = conditions;
  const noted = Object.entries(first).filter(
    ([key, value]) => NAMED[kind].test(key) && conditions.every((other) => other[key] === value) && VALUE.test(value),
  );
  const [only] = noted;
  if (only === undefined || noted.length > 1) return null;
  const [, number = "", unit = ""] = VALUE.exec(only[1]) ?? [];
  const now = Number(number.replace(",", "."));
  return { parameter: only[0].replace(CHANGED, ""), now, next: rounded(now * times), unit: unit.trim() };
}
