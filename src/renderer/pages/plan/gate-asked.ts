/**
 * A gate while it is typed: the request for the core, and the gate in words. Input that makes no sense yet is only described; the core
 * refuses it with the reason.
 */
export interface GateTyped {
  readonly from: string;
  readonly fromUnit: string;
  readonly to: string;
  readonly toUnit: string;
  /** Empty: named after its ends. */
  readonly name: string;
}

export interface GateAsked {
  readonly name: string;
  readonly from: string;
  readonly to: string;
}

const LENGTHS = ["m", "ft", "mile"];

/** "4,5" is 4.5; an empty start means standing. */
const value = (text: string, empty: string) => text.trim().replace(",", ".") || empty;

export function gateAsked(typed: GateTyped): GateAsked {
  const [from, to] = [value(typed.from, "0"), value(typed.to, "?")];
  const { fromUnit, toUnit } = typed;
  const same = fromUnit === toUnit || Number(from) === 0;
  const named = LENGTHS.includes(toUnit) ? `${to} ${toUnit}` : same ? `${from}-${to} ${toUnit}` : `${from} ${fromUnit} to ${to} ${toUnit}`;
  return { name: typed.name.trim() || named, from: `${from} ${fromUnit}`, to: `${to} ${toUnit}` };
}

export function gateAskedWords({ from, to }: GateAsked): string {
  const [start, ending] = [Number.parseFloat(from), Number.parseFloat(to)];
  // A wrong input must not be described as if it were a gate.
  if (!(start >= 0) || !(ending >= 0) || from === to)
    return "From 0 is a standing start; to 0 is a stop; to a length is a distance from standing.";
  if (LENGTHS.some((unit) => to.endsWith(` ${unit}`))) return `Timed from standing over ${to}.`;
  if (ending === 0) return `Timed from ${from} to a stop.`;
  return start === 0 ? `Timed from standing to ${to}.` : `Timed while rolling, ${from} to ${to}.`;
}
