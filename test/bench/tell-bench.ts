/**
 * A bench says here what it measured: one line each for the terminal, and data for the page of all benches, which run.ts gathers in the folder that
 * GRIPBOOK_BENCH names. A gate that is not held makes the bench exit with 1.
 */
import { writeFileSync } from "node:fs";
import { loadavg, availableParallelism } from "node:os";
import { join } from "node:path";
import {
  type Figure,
  gateWords,
  heldWords,
  isHeld,
  ratioWords,
  referenceWords,
  type Series,
  type Skipped,
  valueWords,
} from "./bench-data.ts";

type Told = Pick<Figure, "name" | "what" | "value" | "unit"> & Partial<Pick<Figure, "reference" | "gate" | "why">>;

export interface BenchTeller {
  /** `why`: the gate is not judged, and the reason. */
  figure(told: Told): void;
  series(told: Omit<Series, "bench">): void;
  skipped(what: string, why: string): void;
  /** Without data: what else people should see. */
  note(line: string): void;
}

export function tellBench(bench: string): BenchTeller {
  const figures: Figure[] = [];
  const series: Series[] = [];
  const skipped: Skipped[] = [];
  const say = (line: string) => console.log(`${bench}: ${line}`);
  process.on("exit", () => {
    const folder = process.env.GRIPBOOK_BENCH;
    if (folder !== undefined) writeFileSync(join(folder, `${bench}.json`), JSON.stringify({ figures, series, skipped }));
  });
  return {
    figure({ reference = null, gate = null, why = null, ...told }) {
      const ratio = reference === null ? null : told.value / reference.value;
      const held = gate === null || why !== null ? null : isHeld(gate, told.value, ratio);
      const figure = { bench, ...told, reference, ratio, gate, held, why };
      figures.push(figure);
      if (held === false) process.exitCode = 1;
      const beside = [referenceWords(figure), ratioWords(figure), gateWords(figure)].filter((words) => words !== null).join(", ");
      say(`${told.what}: ${valueWords(figure)}${beside === "" ? "" : ` (${beside})`}: ${heldWords(figure)}`);
    },
    series(told) {
      series.push({ bench, ...told });
      for (const { name, points } of told.lines)
        say(
          `${told.what}, ${name}: ${points.map(({ size, cost }) => `${size} ${told.sizeUnit} ${cost.toPrecision(3)} ${told.costUnit}`).join(", ")}`,
        );
    },
    skipped(what, why) {
      skipped.push({ bench, what, why });
      say(`skipped: ${what}: ${why}`);
    },
    note: say,
  };
}

/** Processor time of this process, ms: wall time would measure who else is using the machine. */
export function processorMs(): number {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1000;
}

/**
 * Why a time of this machine says little: other programs want the cores too, and two that share a core take more processor time each. Null on a quiet machine.
 */
export function whyBusy(): string | null {
  const load = loadavg()[0] ?? 0;
  return load < availableParallelism() + 1 ? null : `this machine is busy with something else (load ${load.toFixed(1)})`;
}

export const median = (values: readonly number[]): number => [...values].sort((a, b) => a - b)[values.length >> 1] ?? Number.NaN;
