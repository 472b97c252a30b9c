/** The page and the data of all benches: every gate stands there in words, and what failed is said before anything else. */
import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import * as v from "valibot";
import { expect, test } from "vitest";
import type { BenchRun, Figure } from "./bench-data.ts";
import { benchPage } from "./bench-page.ts";

const figure = (name: string, more: Partial<Figure>): Figure => ({
  bench: "import",
  name,
  what: `${name} of an hour`,
  value: 12.3456,
  unit: "s",
  reference: null,
  ratio: null,
  gate: null,
  held: null,
  why: null,
  ...more,
});

const run = (figures: readonly Figure[], more: Partial<BenchRun> = {}): BenchRun => ({
  measuredAt: "2031-05-04T10:00:00.000Z",
  machine: { processor: "A <b> processor", cores: 2, node: "24.0.0", load: 0.5 },
  figures,
  series: [],
  skipped: [],
  failed: [],
  ...more,
});

const HELD = figure("held", { gate: { of: "value", is: "at most", limit: 40 }, held: true });
const FAILED = figure("failed", {
  value: 107,
  reference: { name: "real time", value: 1 },
  ratio: 107,
  gate: { of: "ratio", is: "at least", limit: 200 },
  held: false,
});
const BUSY = figure("busy", { gate: { of: "value", is: "at most", limit: 2000 }, why: "this machine is busy" });

/** Words between tags, as a reader sees them. */
const words = (page: string) =>
  page
    .replace(/<style>.*?<\/style>/s, "")
    .replaceAll(/<[^>]+>/g, " ")
    .replaceAll(/\s+/g, " ");

test("benchPage() names every figure with its reference, its ratio and its gate, and needs nothing else", () => {
  const page = benchPage(run([HELD, FAILED, BUSY, figure("free", {})]));
  const text = words(page);
  expect(text).toContain("held of an hour 12.3 s none at most 40 s held");
  expect(text).toContain("failed of an hour 107 s real time: 1 s 107 times at least 200 times the reference FAILED");
  expect(text).toContain("busy of an hour 12.3 s none at most 2,000 s not judged: this machine is busy");
  expect(text).toContain("free of an hour 12.3 s none none no gate");
  expect(page).not.toMatch(/<script|src=|href=|url\(http/);
  expect(page).toContain("A &lt;b&gt; processor");
});

test("benchPage() says first what failed, and else that every gate judged is held", () => {
  const failed = words(benchPage(run([HELD, FAILED], { failed: ["start"] })));
  expect(failed).toMatch(/Speed 2 FAILED; 2 of 2 gates were judged/);
  expect(failed).toContain("FAILED: import, failed of an hour: 107 s, and the gate is at least 200 times the reference");
  expect(failed).toContain("FAILED: the bench start did not end by itself");
  const held = words(benchPage(run([HELD, BUSY])));
  expect(held).toContain("Every gate that was judged is held; 1 of 2 gates were judged.");
  expect(held).not.toContain("FAILED");
});

test("benchPage() draws a line that grows as its size does from corner to corner of its decades, and names each line", () => {
  const points = [1, 10, 100].map((size) => ({ size, cost: size / 1000 }));
  const lines = [
    { name: "Gripbook", points },
    { name: "a copy", points: points.map(({ size, cost }) => ({ size, cost: cost * 2 })) },
    { name: "nothing measured", points: [] },
  ];
  const page = benchPage(run([], { series: [{ bench: "import", name: "a", what: "an import", sizeUnit: "hours", costUnit: "s", lines }] }));
  const [, first = ""] = /<path d="(M[^"A]*)" fill="none"/.exec(page) ?? [];
  const [[x0, y0], [x1, y1], [x2, y2]] = [...first.matchAll(/[ML]([\d.]+) ([\d.]+)/g)].map(([, x, y]) => [Number(x), Number(y)]) as [
    [number, number],
    [number, number],
    [number, number],
  ];
  expect(x2 - x1).toBeCloseTo(x1 - x0, 1);
  expect(y2 - y1).toBeCloseTo(y1 - y0, 1);
  expect(y2).toBeLessThan(y0);
  for (const name of ["Gripbook", "a copy", "0.001", "100", "hours"]) expect(page).toContain(`>${name}</text>`);
});

const GATE = v.strictObject({ of: v.picklist(["value", "ratio"]), is: v.picklist(["at least", "at most"]), limit: v.number() });
const FIGURE = v.strictObject({
  bench: v.string(),
  name: v.string(),
  what: v.string(),
  value: v.number(),
  unit: v.string(),
  reference: v.nullable(v.strictObject({ name: v.string(), value: v.number() })),
  ratio: v.nullable(v.number()),
  gate: v.nullable(GATE),
  held: v.nullable(v.boolean()),
  why: v.nullable(v.string()),
});
const POINTS = v.array(v.strictObject({ size: v.number(), cost: v.number() }));
const PART = v.strictObject({
  figures: v.array(FIGURE),
  series: v.array(
    v.strictObject({
      bench: v.string(),
      name: v.string(),
      what: v.string(),
      sizeUnit: v.string(),
      costUnit: v.string(),
      lines: v.array(v.strictObject({ name: v.string(), points: POINTS })),
    }),
  ),
  skipped: v.array(v.strictObject({ bench: v.string(), what: v.string(), why: v.string() })),
});

test("a bench prints its figures and leaves them as data; one gate that is not held makes it exit with 1", () => {
  const folder = mkdtempSync(join(tmpdir(), "gripbook-bench-page-"));
  const teller = fileURLToPath(new URL("tell-bench.ts", import.meta.url));
  writeFileSync(
    join(folder, "a.ts"),
    `import { tellBench } from ${JSON.stringify(teller)};
const bench = tellBench("a");
bench.figure({ name: "x", what: "bytes read", value: 30, unit: "ms", reference: { name: "a copy", value: 10 }, gate: { of: "ratio", is: "at most", limit: 2 } });
bench.figure({ name: "y", what: "drawn", value: 30, unit: "ms", gate: { of: "value", is: "at most", limit: 30 } });
bench.figure({ name: "z", what: "waited", value: 30, unit: "ms", gate: { of: "value", is: "at most", limit: 2 }, why: "busy" });
bench.series({ name: "s", what: "read", sizeUnit: "bytes", costUnit: "ms", lines: [{ name: "ours", points: [{ size: 1, cost: 2 }] }] });
bench.skipped("the rest", "no port");
`,
  );
  const { status, stdout } = spawnSync(process.execPath, [join(folder, "a.ts")], {
    encoding: "utf8",
    env: { ...process.env, GRIPBOOK_BENCH: folder },
  });
  const part = v.parse(PART, JSON.parse(readFileSync(join(folder, "a.json"), "utf8")));
  rmSync(folder, { recursive: true });
  expect(status).toBe(1);
  expect(stdout).toContain("a: bytes read: 30 ms (a copy: 10 ms, 3 times, at most 2 times the reference): FAILED\n");
  expect(part.figures.map(({ ratio, held }) => [ratio, held])).toEqual([
    [3, false],
    [null, true],
    [null, null],
  ]);
  expect(part.skipped).toEqual([{ bench: "a", what: "the rest", why: "no port" }]);
});
