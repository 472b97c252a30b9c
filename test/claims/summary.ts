/** Sums up the cases of one class as the lines that are printed and stored, and says which promise fails. */
import type { ClaimClass } from "./classes.ts";
import type { CaseResult } from "./judge-case.ts";
import { mostRms, type Outcome, shareBand, summarise } from "./tally.ts";

export interface ClaimLine {
  readonly what: string;
  readonly n: number;
  readonly rms: number;
  readonly unit: string;
  /** RMS over the root mean square bound of the same cases; NaN where none. */
  readonly boundRatio: number;
  readonly coverage: number;
  readonly band: readonly [number, number];
  readonly width: number;
  readonly failures: readonly string[];
}

export interface ClassSummary {
  readonly name: string;
  readonly cases: number;
  /** Launches not found, or found where none was driven. */
  readonly missed: number;
  readonly lines: readonly ClaimLine[];
  /** Straight-line interpolation of the receiver's speed, 0-60 mph, s. */
  readonly lineRmsS: number;
}

const COVERAGE = [0.9, 0.99] as const;

const meanSquare = (values: readonly number[]): number => values.reduce((s, v) => s + v * v, 0) / values.length;

interface LineInput {
  readonly what: string;
  readonly outcomes: readonly Outcome[];
  readonly unit: string;
  readonly scale: number;
  readonly mostRms: number | null;
  readonly bounds?: readonly number[];
  readonly mostBoundTimes?: number | null;
  /** Whether coverage is promised (a claim of the product) or the line is only for comparison. */
  readonly covered?: boolean;
}

/** A share outside the promise counts as a failure only where its whole binomial band is outside too. */
export function claimLine(input: LineInput): ClaimLine {
  const { what, outcomes, unit, scale, bounds = [], covered = true } = input;
  const s = summarise(outcomes);
  const band = shareBand(Math.round(s.coverage * s.n), s.n);
  const bounded = outcomes.filter((_, i) => Number.isFinite(bounds[i]));
  const known = bounds.filter(Number.isFinite);
  const boundRatio = known.length === 0 ? Number.NaN : summarise(bounded).rms / Math.sqrt(meanSquare(known));
  const failures: string[] = [];
  if (input.mostRms !== null && s.rms > mostRms(input.mostRms, s.n)) {
    failures.push(`RMS ${(s.rms * scale).toPrecision(3)} ${unit}, promised ${(input.mostRms * scale).toPrecision(3)}`);
  }
  const times = input.mostBoundTimes ?? null;
  if (times !== null && boundRatio > mostRms(times, known.length))
    failures.push(`${boundRatio.toFixed(2)} times the bound, promised ${times}`);
  if (covered && band[1] < COVERAGE[0]) failures.push(`coverage ${(100 * s.coverage).toFixed(1)} %, promised at least 90`);
  if (covered && band[0] > COVERAGE[1])
    failures.push(`coverage ${(100 * s.coverage).toFixed(1)} %, promised at most 99: intervals too wide`);
  return { what, n: s.n, rms: s.rms * scale, unit, boundRatio, coverage: s.coverage, band, width: s.width * scale, failures };
}

const GATES: readonly (readonly [string, string])[] = [
  ["0-60 mph", "1 ft"],
  ["0-100 km/h", "movement"],
  ["30-60 mph", "entry"],
  ["60 ft", "movement"],
  ["60-0 mph", "entry"],
];

/** Sums up one class. */
export function summariseClass(claim: ClaimClass, cases: readonly CaseResult[]): ClassSummary {
  const lines: ClaimLine[] = [];
  const gate = (name: string, start: string): Outcome[] =>
    cases.flatMap((c) => c.gates.filter((g) => g.gate === name && g.start === start));
  const { sixty } = claim;
  lines.push(
    claimLine({
      what: "0-60 mph from movement",
      outcomes: gate("0-60 mph", "movement"),
      unit: "ms",
      scale: 1000,
      mostRms: sixty !== null && "mostS" in sixty ? sixty.mostS : null,
      bounds: cases.filter((c) => c.gates.some((g) => g.gate === "0-60 mph" && g.start === "movement")).flatMap((c) => c.boundsS),
      mostBoundTimes: sixty !== null && "boundTimes" in sixty ? sixty.boundTimes : null,
    }),
  );
  for (const [name, start] of GATES) {
    const outcomes = gate(name, start);
    if (outcomes.length > 0) lines.push(claimLine({ what: `${name} from ${start}`, outcomes, unit: "ms", scale: 1000, mostRms: null }));
  }
  const radius = cases.map((c) => c.radius).filter((o) => o !== null);
  const delay = cases.map((c) => c.delay).filter((o) => o !== null);
  if (radius.length > 0) {
    lines.push(
      claimLine({ what: "rolling radius", outcomes: radius, unit: "%", scale: 100, mostRms: claim.delayS === null ? null : 0.001 }),
    );
  }
  if (delay.length > 0) {
    const bounds = delay.map((d) => d.boundS);
    lines.push(claimLine({ what: "receiver delay", outcomes: delay, unit: "ms", scale: 1000, mostRms: claim.delayS, bounds }));
  }
  const slip = cases.map((c) => c.slip).filter((o) => o !== null);
  if (slip.length > 0) {
    const inside = slip.reduce((s, o) => s + o.inside, 0) / slip.length;
    // Samples of one launch are not independent: the share is shown, and people judge it.
    const line = claimLine({
      what: "slip error / (1 + slip)",
      outcomes: slip.map((o) => ({ error: o.rms, plusMinus95: 0 })),
      unit: "%",
      scale: 100,
      mostRms: claim.slip,
      covered: false,
    });
    lines.push({ ...line, coverage: inside, band: [Number.NaN, Number.NaN], width: Number.NaN });
  }
  return {
    name: claim.name,
    cases: cases.length,
    missed: cases.filter((c) => c.found !== c.driven).length,
    lines,
    lineRmsS: Math.sqrt(meanSquare(cases.flatMap((c) => c.linesS))),
  };
}

const text = (value: number, digits: number): string => (Number.isFinite(value) ? value.toFixed(digits) : "");

/** Lines as rows of the table whose head is TABLE_HEAD. */
export function rowsOf(lines: readonly ClaimLine[]): string {
  const rows = lines.map((l) => {
    const digits = l.unit === "%" ? 3 : 2;
    const band = Number.isFinite(l.band[0]) ? ` (${text(100 * l.band[0], 0)} to ${text(100 * l.band[1], 0)})` : "";
    const verdict = l.failures.length === 0 ? "" : `**${l.failures.join("; ")}**`;
    return `| ${l.what} | ${l.n} | ${text(l.rms, digits)} ${l.unit} | ${text(l.boundRatio, 2)} | ${text(100 * l.coverage, 1)} %${band} | ${text(l.width, digits)} | ${verdict} |`;
  });
  return rows.join("\n");
}

export const TABLE_HEAD =
  "| what | n | RMS error | x bound | inside ± (95 % band) | mean ± | not held |\n| --- | --: | --: | --: | --: | --: | --- |";

/** The class as a table of Markdown. */
export function tableOf(summary: ClassSummary): string {
  const head = `### ${summary.name}\n\n${summary.cases} drives, ${summary.missed} with a launch missed or made up. Straight lines through the receiver's speed: ${text(summary.lineRmsS * 1000, 1)} ms RMS.\n`;
  return `${head}\n${TABLE_HEAD}\n${rowsOf(summary.lines)}\n`;
}
