/**
 * Finds signals of a message that overlap: which signals have claimed a bit, and which of them can be present in the same frame. Work grows
 * with the number of signals only. Never fails.
 */
import type { DbcSignal } from "./dbc-model.ts";

/** Branches selected by many values are compared one by one, up to this many a bit; an overlap beyond them is not found. */
const MOST_WIDE = 64;

/** Signals selected by one multiplexor. */
interface Branches {
  readonly first: DbcSignal;
  readonly byValue: Map<number, DbcSignal>;
  readonly wide: DbcSignal[];
}

const meets = (a: DbcSignal, b: DbcSignal) =>
  a.mux?.ranges.some(([low, high]) => b.mux?.ranges.some((range) => range[0] <= high && range[1] >= low)) === true;

/** The only multiplexor value that selects the signal; null where there are several. */
function onlyValue({ mux }: DbcSignal): number | null {
  const [range, ...more] = mux?.ranges ?? [];
  return range !== undefined && more.length === 0 && range[0] === range[1] ? range[0] : null;
}

export class BitUse {
  #first: DbcSignal | undefined;
  #always: DbcSignal | undefined;
  readonly #bySelector = new Map<string, Branches>();

  /** A signal on this bit that can be present at the same time, or undefined. */
  firstBeside(signal: DbcSignal): DbcSignal | undefined {
    const { mux } = signal;
    if (mux === null) return this.#first;
    if (this.#always !== undefined) return this.#always;
    for (const [selector, { first }] of this.#bySelector) if (selector !== mux.selector) return first;
    const same = this.#bySelector.get(mux.selector);
    if (same === undefined) return undefined;
    const value = onlyValue(signal);
    const alike = value === null ? undefined : same.byValue.get(value);
    if (alike !== undefined) return alike;
    const others = value === null ? [...same.wide, ...[...same.byValue.values()].slice(0, MOST_WIDE)] : same.wide;
    return others.find((other) => meets(signal, other));
  }

  add(signal: DbcSignal): void {
    this.#first ??= signal;
    if (signal.mux === null) {
      this.#always ??= signal;
      return;
    }
    const branches: Branches = this.#bySelector.get(signal.mux.selector) ?? { first: signal, byValue: new Map(), wide: [] };
    this.#bySelector.set(signal.mux.selector, branches);
    const value = onlyValue(signal);
    if (value !== null) {
      if (!branches.byValue.has(value)) branches.byValue.set(value, signal);
    } else if (branches.wide.length < MOST_WIDE) branches.wide.push(signal);
  }
}
