/** Error of the 0-60 mph time against receiver noise, for three rates, with every source and with the receiver alone: measured and drawn as plain SVG. */
import type { DriveClass } from "../support/second-car/recipe.ts";
import type { CaseResult } from "./judge-case.ts";
import type { Job } from "./claims-worker.ts";
import type { Pool } from "./pool.ts";

const NOISES = [0.02, 0.03, 0.05, 0.1] as const;
const RATES = [5, 10, 20] as const;
const SOURCES: readonly { readonly name: string; readonly kind: DriveClass }[] = [
  { name: "receiver alone", kind: { undriven: false, torque: false, motorSpeed: false } },
  { name: "every source", kind: {} },
];
const FIRST_SEED = 90_000;

interface Curve {
  readonly name: string;
  readonly rateHz: number;
  /** RMS error at each of the noise levels, s. */
  readonly rmsS: readonly number[];
}

export interface Grid {
  readonly noises: readonly number[];
  readonly curves: readonly Curve[];
  readonly cases: number;
}

const rmsOf = (errors: readonly number[]): number => Math.sqrt(errors.reduce((s, e) => s + e * e, 0) / errors.length);
const sixtyOf = (c: CaseResult): number[] => c.gates.filter((g) => g.gate === "0-60 mph" && g.start === "movement").map((g) => g.error);

/** Runs the grid: sources, rates, noise levels. */
export async function measureGrid(pool: Pool<Job, CaseResult>, cases: number): Promise<Grid> {
  const curves: Curve[] = [];
  for (const source of SOURCES) {
    for (const rateHz of RATES) {
      const rmsS: number[] = [];
      const lines: number[] = [];
      for (const noiseMps of NOISES) {
        const jobs = Array.from({ length: cases }, (_, i) => ({
          car: "second" as const,
          seed: FIRST_SEED + i,
          kind: { ...source.kind, rateHz, noiseMps },
          withBound: false,
        }));
        const results = await pool.run(jobs);
        rmsS.push(rmsOf(results.flatMap(sixtyOf)));
        lines.push(rmsOf(results.flatMap((r) => r.linesS)));
      }
      curves.push({ name: source.name, rateHz, rmsS });
      if (source === SOURCES[0] && rateHz === 10) curves.push({ name: "straight lines", rateHz, rmsS: lines });
    }
  }
  return { noises: NOISES, curves, cases };
}

const WIDTH = 720;
const HEIGHT = 440;
const LEFT = 64;
const RIGHT = 190;
const TOP = 46;
const BOTTOM = 56;
const INK = "#1b1b1a";
const PAPER = "#faf8f3";
const FAINT = "#d9d5ca";
const DASH: Readonly<Record<number, string>> = { 5: "2 4", 10: "none", 20: "9 4" };

/** Log-log chart, ink on paper; each curve is named at its end. */
export function chartOf(grid: Grid): string {
  const { noises, curves } = grid;
  const all = curves.flatMap((c) => c.rmsS.filter((v) => v > 0));
  const low = 10 ** Math.floor(Math.log10(Math.min(...all) * 1000));
  const high = 10 ** Math.ceil(Math.log10(Math.max(...all) * 1000));
  const x = (noise: number): number =>
    LEFT + ((Math.log(noise) - Math.log(noises[0])) / (Math.log(noises[noises.length - 1]) - Math.log(noises[0]))) * (WIDTH - LEFT - RIGHT);
  const y = (ms: number): number =>
    HEIGHT - BOTTOM - ((Math.log(ms) - Math.log(low)) / (Math.log(high) - Math.log(low))) * (HEIGHT - TOP - BOTTOM);
  const f = (value: number): string => value.toFixed(1);
  const parts: string[] = [];
  for (let decade = low; decade <= high; decade *= 10) {
    for (const step of [1, 2, 5]) {
      const ms = decade * step;
      if (ms > high) continue;
      parts.push(`<path d="M${LEFT} ${f(y(ms))}H${WIDTH - RIGHT}" stroke="${FAINT}"/>`);
      parts.push(`<text x="${LEFT - 8}" y="${f(y(ms) + 4)}" text-anchor="end">${Number(ms.toPrecision(2))}</text>`);
    }
  }
  for (const noise of noises) {
    parts.push(`<path d="M${f(x(noise))} ${TOP}V${HEIGHT - BOTTOM}" stroke="${FAINT}"/>`);
    parts.push(`<text x="${f(x(noise))}" y="${HEIGHT - BOTTOM + 18}" text-anchor="middle">${noise.toFixed(2)}</text>`);
  }
  const ends = curves.map((c) => ({ c, at: y(c.rmsS[c.rmsS.length - 1] * 1000) })).sort((a, b) => a.at - b.at);
  let last = Number.NEGATIVE_INFINITY;
  for (const { c, at } of ends) {
    const points = c.rmsS.map((rms, i) => `${f(x(noises[i]))} ${f(y(rms * 1000))}`).join("L");
    const straight = c.name === "straight lines";
    const width = c.name === "every source" ? 2.2 : 1.3;
    parts.push(
      `<path d="M${points}" fill="none" stroke="${INK}" stroke-width="${straight ? 0.8 : width}" stroke-dasharray="${straight ? "1 3" : DASH[c.rateHz]}"/>`,
    );
    // Names keep 15 px apart, so that they stay legible where curves end together.
    const label = Math.max(at + 4, last + 15);
    last = label;
    parts.push(`<text x="${WIDTH - RIGHT + 8}" y="${f(label)}">${c.name}, ${c.rateHz} Hz</text>`);
  }
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${WIDTH} ${HEIGHT}" width="${WIDTH}" height="${HEIGHT}" font-family="IBM Plex Sans, sans-serif" font-size="12" fill="${INK}" role="img" aria-label="Error of the 0-60 mph time against receiver noise, for three receiver rates">
<rect width="${WIDTH}" height="${HEIGHT}" fill="${PAPER}"/>
<text x="${LEFT}" y="24" font-size="15">RMS error of 0-60 mph, ms, ${grid.cases} drives a point</text>
${parts.join("\n")}
<text x="${(LEFT + WIDTH - RIGHT) / 2}" y="${HEIGHT - 14}" text-anchor="middle">receiver noise, m/s</text>
</svg>
`;
}
