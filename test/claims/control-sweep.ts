/** Days under controls of known setting by the hundred on both generators: how true lateness is, and what following the advice gains against what was promised. */
import type { ControlJob } from "./control-worker.ts";
import type { Sweep } from "./decoy-sweep.ts";
import type { ControlCase, ControlDayClass } from "./judge-control-day.ts";
import { createPool } from "./pool.ts";
import { claimLine, rowsOf, TABLE_HEAD } from "./summary.ts";

const FIRST_SEED = 120_000;
/** Promised: lateness within 10 ms at 100 Hz, expected gain within 30 % of what following it brings. */
const MOST_LATE_S = 0.01;
const MOST_GAIN = 0.3;

export const CONTROL_CLASSES: readonly { readonly name: string; readonly day: ControlDayClass }[] = [
  { name: "control: simulated car, dry, too little slip", day: { car: "first", surface: "dry", kind: "tooLittleSlip" } },
  { name: "control: simulated car, wet, too much slip", day: { car: "first", surface: "wet", kind: "tooMuchSlip" } },
  { name: "control: simulated car, dry, answers late", day: { car: "first", surface: "dry", kind: "late" } },
  { name: "control: second car, wet, too little slip", day: { car: "second", surface: "wet", kind: "tooLittleSlip" } },
  { name: "control: second car, wet, answers late", day: { car: "second", surface: "wet", kind: "late" } },
];

/** `cases` days of each class whose name holds `only`; `tell` hears each table as soon as it is there. */
export async function sweepControl(cases: number, only: string, tell: (table: string) => void): Promise<Sweep> {
  const pool = createPool<ControlJob, ControlCase>("./control-worker.ts");
  const tables: string[] = [];
  const failures: string[] = [];
  for (const { name, day } of CONTROL_CLASSES.filter((one) => one.name.includes(only))) {
    const judged = await pool.run(Array.from({ length: cases }, (_, i) => ({ seed: FIRST_SEED + i, day })));
    const answers = judged.flatMap((one) => one.answers ?? []);
    const gains = judged.flatMap((one) => one.gain ?? []);
    const lines = [
      ...(answers.length === 0
        ? []
        : [claimLine({ what: "answers after", outcomes: answers, unit: "ms", scale: 1000, mostRms: MOST_LATE_S })]),
      ...(gains.length === 0
        ? []
        : [claimLine({ what: "expected gain over what was gained", outcomes: gains, unit: "%", scale: 100, mostRms: MOST_GAIN })]),
    ];
    failures.push(...lines.flatMap((line) => line.failures.map((failure) => `${name}: ${line.what}: ${failure}`)));
    const told = `${judged.length} days; on ${answers.length} an answer was timed, on ${gains.length} a change was worth advising and was then driven.`;
    const table = `### ${name}\n\n${told}\n\n${TABLE_HEAD}\n${rowsOf(lines)}\n`;
    tables.push(table);
    tell(table);
  }
  await pool.close();
  return { table: tables.join("\n"), failures };
}
