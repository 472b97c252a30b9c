/**
 * The whole fault run (`npm run faults`): every fault with its number of tries, each in a process of its own: first,
 * one after the other, those whose promise is in ms, then the others three side by side, as most of the time is waiting. With a word, only faults that have it in their name. Puts what was tried into its row of docs/faults.md, with the code and the
 * machine's load, and leaves the rest of the page. Exits 1 where a promise was broken.
 */
import { spawn, spawnSync } from "node:child_process";
import { once } from "node:events";
import { readFileSync, writeFileSync } from "node:fs";
import { loadavg } from "node:os";
import { fileURLToPath } from "node:url";
import { FAULTS } from "./all-faults.ts";
import type { Fault, Tried } from "./fault.ts";

const SIDE_BY_SIDE = 3;
const ONE = fileURLToPath(new URL("run-one.ts", import.meta.url));
const PAGE = "docs/faults.md";
const CODE = spawnSync("git", ["rev-parse", "--short", "HEAD"], { encoding: "utf8" }).stdout.trim();
const [word = ""] = process.argv.slice(2);

const count = (value: number | null) => (value === null || Number.isNaN(value) ? "" : String(Math.round(value)));
const cell = (text: string) => text.replaceAll("|", "\\|").replaceAll(/\/tmp\/[^\s:,;]*/g, "FILE");

function rowOf({ name, promise, whyNot }: Fault, tried: Tried | null): string {
  if (tried === null) return `| ${name} | ${promise} | not tried: ${whyNot} | | | | |`;
  const held = tried.wrong.length === 0 ? "held" : `**${tried.wrong.length} did not hold**`;
  return `| ${name} | ${promise} | ${tried.times} | ${count(tried.lostBytes)} | ${count(tried.lostMs)} | ${held}; ${cell(tried.seen)} | ${CODE}, load ${loadavg()[0]?.toFixed(0)} |`;
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

const tried = new Map<number, Tried | null>();
const waiting = FAULTS.map((fault, place) => ({ fault, place })).filter(({ fault }) => fault.name.includes(word));
const rows = new Map<string, string>();

async function work(list: (typeof waiting)[number][]): Promise<void> {
  for (let next = list.shift(); next !== undefined; next = list.shift()) {
    const { fault, place } = next;
    const one = fault.whyNot === null ? await tryInProcess(place, fault) : null;
    tried.set(place, one);
    for (const line of one?.wrong ?? []) console.log(`${fault.name}: ${line}`);
    rows.set(fault.name, rowOf(fault, one));
    console.log(rows.get(fault.name));
  }
}

await work(waiting.filter(({ fault }) => fault.alone));
const others = waiting.filter(({ fault }) => !fault.alone);
await Promise.all(Array.from({ length: SIDE_BY_SIDE }, () => work(others)));
/** A row of the page begins with its fault's name. */
const rowIn = (line: string) => rows.get(/^\| ([^|]+?) \|/.exec(line)?.[1] ?? "") ?? line;
writeFileSync(PAGE, readFileSync(PAGE, "utf8").split("\n").map(rowIn).join("\n"));
process.exit([...tried.values()].every((one) => one === null || one.wrong.length === 0) ? 0 : 1);
