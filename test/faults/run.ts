/**
 * The whole fault run (`npm run faults`): every fault as often as it says, with a word of some fault's name as an argument only those. Writes the table of
 * docs/faults.md. Exits 1 where something did not hold; what cannot be tried here is said in its row.
 */
import { writeFileSync } from "node:fs";
import { cpus } from "node:os";
import { FAULTS } from "./all-faults.ts";
import type { Fault, Tried } from "./fault.ts";

const [word = ""] = process.argv.slice(2);
const count = (value: number) => (Number.isNaN(value) ? "" : String(Math.round(value)));
const cell = (text: string) => text.replaceAll("|", "\\|").replaceAll(/\/tmp\/[^\s:,]*/g, "FILE");

function rowOf({ name, promise, whyNot }: Fault, tried: Tried | null): string {
  if (tried === null) return `| ${name} | ${promise} | not tried: ${whyNot} | | | |`;
  const held = tried.wrong.length === 0 ? "held" : `**${tried.wrong.length} did not hold**`;
  return `| ${name} | ${promise} | ${tried.times} | ${count(tried.lostBytes)} | ${count(tried.lostMs)} | ${held}; ${cell(tried.seen)} |`;
}

const rows: string[] = [];
let wrong = 0;
for (const fault of FAULTS.filter(({ name }) => name.includes(word))) {
  const tried = fault.whyNot === null ? await fault.run(fault.whole, true) : null;
  for (const line of tried?.wrong ?? []) console.log(`${fault.name}: ${line}`);
  wrong += tried?.wrong.length ?? 0;
  rows.push(rowOf(fault, tried));
  console.log(rows.at(-1));
}
if (word === "")
  writeFileSync(
    "docs/faults.md",
    `# Faults

What goes wrong on a test day, tried on real processes, PTYs and drives (\`npm run faults\`; ${cpus().length} cores; a short form is part of \`npm test\`). Frames on the tried bus carry their own numbers, one a millisecond: lost is what was written to the port while somebody listened and is not in the book, the most of any try.

| fault | must hold | times | bytes lost | ms lost | what was seen |
| --- | --- | --- | --- | --- | --- |
${rows.join("\n")}

Load: \`npm run faults:load\` drives a saturated 1 Mbit/s bus and a 25 Hz receiver for eight simulated hours; counts must be equal and memory flat.
`,
  );
process.exit(wrong === 0 ? 0 : 1);
