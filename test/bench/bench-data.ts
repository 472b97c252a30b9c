/** What a bench gives: figures, each against a named reference measured in the same run where there is one, and what a size costs. */

/** What a figure is held to. `of`: the figure itself, or its ratio to the reference. */
export interface Gate {
  readonly of: "value" | "ratio";
  readonly is: "at least" | "at most";
  readonly limit: number;
}

export interface Figure {
  readonly bench: string;
  /** Short, the same in every run: runs can be compared by it. */
  readonly name: string;
  readonly what: string;
  readonly value: number;
  readonly unit: string;
  readonly reference: { readonly name: string; readonly value: number } | null;
  /** The figure over the reference's; null without one. */
  readonly ratio: number | null;
  readonly gate: Gate | null;
  /** Null: without a gate, or not judged. */
  readonly held: boolean | null;
  /** Why a gate was not judged. */
  readonly why: string | null;
}

/** Cost against size, from small to large. */
export interface Series {
  readonly bench: string;
  readonly name: string;
  readonly what: string;
  readonly sizeUnit: string;
  readonly costUnit: string;
  /** The lines of one chart: ours and others'. */
  readonly lines: readonly SeriesLine[];
}

export interface SeriesLine {
  readonly name: string;
  readonly points: readonly { readonly size: number; readonly cost: number }[];
}

/** What one bench could not measure here. */
export interface Skipped {
  readonly bench: string;
  readonly what: string;
  readonly why: string;
}

/** test-output/bench.json. */
export interface BenchRun {
  readonly measuredAt: string;
  readonly machine: { readonly processor: string; readonly cores: number; readonly node: string; readonly load: number };
  readonly figures: readonly Figure[];
  readonly series: readonly Series[];
  readonly skipped: readonly Skipped[];
  /** Benches that did not end by themselves. */
  readonly failed: readonly string[];
}

export function isHeld({ of, is, limit }: Gate, value: number, ratio: number | null): boolean {
  const judged = of === "value" ? value : (ratio ?? Number.NaN);
  return is === "at least" ? judged >= limit : judged <= limit;
}

const digits = (value: number) =>
  Math.abs(value) >= 1000 ? Math.round(value).toLocaleString("en-US") : String(Number(value.toPrecision(3)));

/** "at most 40 ms", "at least 200 times the reference"; without a gate null. */
export function gateWords({ gate, unit }: Pick<Figure, "gate" | "unit">): string | null {
  if (gate === null) return null;
  return `${gate.is} ${digits(gate.limit)} ${gate.of === "value" ? unit : "times the reference"}`.trimEnd();
}

/** Held, failed or not judged, in words. */
export function heldWords({ gate, held, why }: Pick<Figure, "gate" | "held" | "why">): string {
  if (gate === null) return "no gate";
  if (held === null) return `not judged: ${why ?? "no reason given"}`;
  return held ? "held" : "FAILED";
}

export const valueWords = ({ value, unit }: Pick<Figure, "value" | "unit">) => `${digits(value)} ${unit}`.trimEnd();

export const referenceWords = ({ reference, unit }: Pick<Figure, "reference" | "unit">) =>
  reference === null ? null : `${reference.name}: ${valueWords({ value: reference.value, unit })}`;

export const ratioWords = ({ ratio }: Pick<Figure, "ratio">) => (ratio === null ? null : `${digits(ratio)} times`);
