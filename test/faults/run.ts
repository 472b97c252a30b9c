/**
 * The whole fault run (`npm run faults`): every fault as often as it says, each in a process of its own, three side by side, as most of the time goes by in
 * waiting. With a word, only faults that have it in their name. Writes the table of docs/faults.md. Exits 1 where something did not hold.
 */
import { spawn } from "node:child_process";
import { once } from "node:events";
import { writeFileSync } from "node:fs";
import { cpus, loadavg } from "node:os";
import { fileURLToPath } from "node:url";
import { FAULTS } from "./all-faults.ts";
import type { Fault, Tried } from "./fault.ts";

const SIDE_BY_SIDE = 3;
const ONE = fileURLToPath(new URL("run-one.ts", import.meta.url));
const [word = ""] = process.argv.slice(2);

const count = (value: number | null) => (value === null || Number.isNaN(value) ? "" : String(Math.round(value)));
const cell = (text: string) => text.replaceAll("|", "\\|").replaceAll(/\/tmp\/[^\s:,]*/g, "FILE");

function rowOf({ name, promise, whyNot }: Fault, tried: Tried | null): string {
  if (tried === null) return `| ${name} | ${promise} | not tried: ${whyNot} | | | |`;
  const held = tried.wrong.length === 0 ? "held" : `**${tried.wrong.length} did not hold**`;
  return `| ${name} | ${promise} | ${tried.times} | ${count(tried.lostBytes)} | ${count(tried.lostMs)} | ${held}; ${cell(tried.seen)} |`;
}

async function tryInProcess(place: number, { whole }: Fault): Promise<Tried> {
  const child = spawn(process.execPath, [ONE, String(place)], { stdio: ["ignore", "pipe", "pipe"] });
  let [out, err] = ["", ""];
  child.stdout.setEncoding("utf8").on("data", (text: string) => {
    out += text;
  });
  child.stderr.setEncoding("utf8").on("data", (text: string) => {
    err += text;
  });
  const [code] = (await once(child, "close")) as [number | null];
  const last = out.trim().split("\n").at(-1) ?? "";
  if (code === 0) return JSON.parse(last) as Tried;
  return {
    times: whole,
    lostBytes: Number.NaN,
    lostMs: Number.NaN,
    seen: "",
    wrong: [`ended with ${code}: ${/^\w*Error.*$/m.exec(err)?.[0] ?? err.trim().split("\n").at(-1)}`],
  };
}

const startMs = performance.now();
const tried = new Map<number, Tried | null>();
const waiting = FAULTS.map((fault, place) => ({ fault, place })).filter(({ fault }) => fault.name.includes(word));
const order = waiting.map(({ place }) => place);

async function work(): Promise<void> {
  for (let next = waiting.shift(); next !== undefined; next = waiting.shift()) {
    const { fault, place } = next;
    const one = fault.whyNot === null ? await tryInProcess(place, fault) : null;
    tried.set(place, one);
    for (const line of one?.wrong ?? []) console.log(`${fault.name}: ${line}`);
    console.log(rowOf(fault, one));
  }
}

await Promise.all(Array.from({ length: SIDE_BY_SIDE }, work));
const rows = order.map((place) => rowOf(FAULTS[place] as Fault, tried.get(place) ?? null));
if (word === "")
  writeFileSync(
    "docs/faults.md",
    `# Faults

What goes wrong on a test day, tried on real processes, PTYs and drives: \`npm run faults\`, here in ${Math.round((performance.now() - startMs) / 60_000)} minutes on ${cpus().length} cores (load ${loadavg()[0]?.toFixed(1)} at its end). A short form is part of \`npm test\`. Frames on the tried bus carry their own numbers, one a millisecond: lost is what was written to the port while somebody listened and is not in the book, the most of any try. What was in a cable, or in the buffers of the line, counts as lost too.

| fault | must hold | times | bytes lost | ms lost | what was seen |
| --- | --- | --: | --: | --: | --- |
${rows.join("\n")}
`,
  );
process.exit([...tried.values()].every((one) => one === null || one.wrong.length === 0) ? 0 : 1);
