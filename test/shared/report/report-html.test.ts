/** Issue 8 and LOOK "Report": what must be on the page, that nothing can be fetched from it, and that foreign text stays text. Well-formedness by Python's XML parser (SVG parts) and html.parser. */
import { spawnSync } from "node:child_process";
import { describe, expect, test } from "vitest";
import { compare } from "../../../src/shared/judge/compare.ts";
import { reportHtml } from "../../../src/shared/report/report-html.ts";
import { printScales, printSvg } from "../../../src/shared/report/print-svg.ts";
import { orderStripSvg, valueStripSvg } from "../../../src/shared/report/strip-svg.ts";
import { judgedRun } from "../judge/judged-run.fixture.ts";
import { reportDay } from "./report-day.fixture.ts";

const day = reportDay();
const html = reportHtml(day);
const ATTACK = `<script>alert(1)</script>"><img src=x onerror=alert(1)>&'`;

function python(script: string, input: string): string | null {
  const result = spawnSync("/usr/bin/python3", ["-c", script], { input, encoding: "utf8", maxBuffer: 1 << 26 });
  if (result.error) {
    console.log(`skipped: check by Python, because ${result.error.message}`);
    return null;
  }
  return result.status === 0 ? result.stdout.trim() : `failed: ${result.stderr.trim().split("\n").at(-1)}`;
}

const parseXml = (svg: string) =>
  python(
    "import sys, xml.etree.ElementTree as E\nprint(len(list(E.fromstring(sys.stdin.read()).iter())))",
    svg.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" '),
  );

describe("reportHtml()", () => {
  test("says verdict, figures with intervals and where from, conditions, changes, flags, plan, set-up, version, cautions", () => {
    for (const part of [
      "On is 0.63 s quicker than off, 0-60 mph.",
      "0.63 s quicker, 0.54 to 0.89 s (96 %); if the setting did nothing, chance alone would part the groups this far in 2 of the 380 orders that this plan could have drawn.",
      "4.350 ± 0.012",
      "at 63.1 km/h",
      "0.3240 ± 0.0004",
      "calibrated",
      "wheelspin: slip over 10 % for 3.3 s",
      "used in spite of it",
      "nearly drift-balanced orders of 380 orders, seed 7",
      "&quot;Odrel&quot;",
      "Gripbook 0.1.0",
      "no statement of road safety",
      "closed course",
      "Simulated car: every figure here is invented.",
      "A hint, not a result",
    ]) {
      expect(html).toContain(part);
    }
    expect(html.match(/class="print"/g)).toHaveLength(12);
  });

  test("holds no script, no address and no way to fetch, and forbids it besides", () => {
    expect(html).toContain(`content="default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"`);
    expect(html).not.toMatch(
      /<script|<link|<img|<iframe|<object|<embed|@import|https?:|\/\/[a-z]|\s(src|href|srcset|action|poster)=|\son[a-z]+=/i,
    );
    expect([...html.matchAll(/url\(([^)]*)\)/g)].every((match) => match[1]?.startsWith("#"))).toBe(true);
  });

  test("text from outside stays text", () => {
    const run = {
      ...day.runs[0]!,
      label: ATTACK,
      note: ATTACK,
      uid: ATTACK,
      flags: [{ flag: "slope" as const, why: ATTACK }],
      conditions: { [ATTACK]: ATTACK },
    };
    const attacked = reportHtml({
      ...day,
      car: ATTACK,
      day: ATTACK,
      setUp: ATTACK,
      softwareVersion: ATTACK,
      runs: [run, ...day.runs.slice(1)],
      hints: [{ group: ATTACK, hint: { kind: "answersLate", words: ATTACK, runs: [], evidence: {} } }],
      changes: [{ at: null, run: null, what: ATTACK, before: ATTACK, after: ATTACK }],
      comparisons: [
        compare({
          gate: ATTACK,
          start: "movement",
          groups: [ATTACK, "on"],
          runs: [1, 2, 3, 4].map((id) => judgedRun(id, id < 3 ? ATTACK : "on", 4 + id / 10)),
          plan: null,
        }),
      ],
    });
    expect(attacked).not.toMatch(/<script|<img/);
    const tags = python(
      "import sys\nfrom html.parser import HTMLParser\nclass P(HTMLParser):\n  bad = 0\n  def handle_starttag(self, tag, attrs):\n    if tag in ('script', 'img') or any(k.startswith('on') for k, v in attrs): P.bad += 1\np = P(); p.feed(sys.stdin.read()); print(P.bad)",
      attacked,
    );
    if (tags !== null) expect(tags).toBe("0");
  });

  test("every figure is well-formed", () => {
    const figures = [...html.matchAll(/<svg[\s\S]*?<\/svg>/g)].map((match) => match[0]);
    expect(figures.length).toBeGreaterThan(15);
    for (const svg of new Set(figures)) {
      const elements = parseXml(svg);
      if (elements === null) return;
      expect(Number(elements), svg.slice(0, 200)).toBeGreaterThan(0);
      expect(svg).not.toMatch(/NaN|undefined|Infinity/);
    }
  }, 30_000);

  test("a day without runs, comparison, plan or calibration says so in words", () => {
    const bare = reportHtml({
      ...day,
      day: null,
      simulated: false,
      runs: [],
      comparisons: [],
      plan: null,
      hints: [],
      calibrations: [],
      changes: [],
    });
    for (const part of [
      "No comparison yet",
      "undated",
      "No plan",
      "No calibration yet",
      "Nothing was changed by hand",
      "Nothing stands out",
    ])
      expect(bare).toContain(part);
    expect(bare).not.toMatch(/NaN|undefined/);
  });

  test("unknown figures are the word, never a number", () => {
    const blank = {
      ...day.runs[0]!,
      startedAt: null,
      courseDeg: null,
      slip: { peakSlipSpeedKmh: null, peakSlipRatio: null, secondsAbove10Percent: null },
      calibrationId: null,
      final: false,
      use: false,
    };
    const page = reportHtml({
      ...day,
      comparisons: [],
      runs: [blank],
      calibrations: [
        {
          id: 1,
          rollingRadiusM: { value: Number.NaN, plusMinus95: Number.NaN, from: "unknown" },
          gnssDelayS: { value: 0.06, plusMinus95: Number.NaN, from: "unknown" },
          notes: [],
        },
      ],
    });
    expect(page).not.toMatch(/NaN|null/);
    expect(page).toContain("1 (set aside) (provisional)");
    expect(page).toContain("0.0600 ± unknown");
  });

  test("runs set aside come with the result of all runs beside", () => {
    const runs = [1, 2, 3, 4, 5, 6, 7, 8].map((id) =>
      judgedRun(
        id,
        id % 2 === 1 ? "off" : "on",
        id % 2 === 1 ? 5 + id / 100 : 4.4 + id / 100,
        id === 7 ? { use: false, note: "missed it.", setAsideAfterTimeSeen: true } : {},
      ),
    );
    const page = reportHtml({
      ...day,
      comparisons: [compare({ gate: "0-60 mph", start: "movement", groups: ["off", "on"], runs, plan: null })],
    });
    expect(page).toContain("Run 7 is set aside. With all runs in: 0.");
    // A stranger is told of how many runs, and what the per cent is of.
    expect(page).toContain("From 3 runs of off and 4 of on. The per cent in brackets says how surely the interval before it holds");
    // The word that screens use for a course, with its figure.
    expect(page).toContain("east (74°)");
    expect(page).not.toContain("..<");
    expect(page).toContain("Run 7 was set aside after its time was seen: missed it.");
  });
});

describe("printSvg()", () => {
  const style = { width: 300, height: 150, scales: { slipKmh: 15, heldNm: 60 }, seconds: 1, title: "run 1", setAside: false };
  const flat = (slip: number | null, held: number | null, n = 21) => ({
    slipKmh: new Array(n).fill(slip),
    heldNm: new Array(n).fill(held),
    intervening: new Array(n).fill(false),
  });

  test("a perfect launch leaves a bare line; unknown leaves dots and the word, no ink", () => {
    const bare = printSvg(flat(0, 0), style);
    expect(bare).not.toContain("<polygon");
    expect(bare).not.toContain("unknown");
    const unknown = printSvg(flat(null, null), style);
    expect(unknown).not.toContain("<polygon");
    expect(unknown).toContain("unknown");
    expect(unknown).toContain('stroke-dasharray="3 9"');
  });

  test("slip lies above the ground line, held back below it, to scale", () => {
    const svg = printSvg(flat(7.5, 30), style);
    const line = Number(/<line [^>]*y1="([\d.]+)"/.exec(svg)?.[1]);
    const polygons = [...svg.matchAll(/<polygon points="([^"]+)"/g)].map((match) =>
      (match[1] as string).split(" ").map((p) => Number(p.split(",")[1])),
    );
    expect(polygons).toHaveLength(2);
    const [slip, held] = polygons as [number[], number[]];
    expect(Math.max(...slip)).toBeLessThan(line);
    expect(Math.min(...held)).toBeGreaterThan(line);
    const full = printSvg(flat(15, 60), style);
    const height = (text: string, index: number) => {
      const ys = [...text.matchAll(/<polygon points="([^"]+)"/g)].map((match) =>
        (match[1] as string).split(" ").map((p) => Number(p.split(",")[1])),
      )[index] as number[];
      return Math.max(...ys) - Math.min(...ys);
    };
    for (const index of [0, 1]) expect(height(svg, index) / height(full, index)).toBeCloseTo(0.5, 1);
  });

  test("ink beyond the scale is cut and numbered; behind is dots; set aside is struck through", () => {
    expect(printSvg(flat(31, 0), style)).toContain("31 km/h");
    expect(printSvg(flat(-5, 0), style)).toContain('stroke-dasharray="2 4"');
    expect(printSvg(flat(1, 0), { ...style, setAside: true })).toContain(`y2="4"`);
    expect(printSvg({ ...flat(1, 20), intervening: new Array(21).fill(true) }, style)).toContain('stroke-dasharray="4 4"');
  });

  test("scales are LOOK's, the least that hold the largest", () => {
    expect(printScales([flat(24, 61)])).toEqual({ slipKmh: 25, heldNm: 120 });
    expect(printScales([flat(-61, 0)])).toEqual({ slipKmh: 60, heldNm: 60 });
    expect(printScales([])).toEqual({ slipKmh: 15, heldNm: 60 });
  });
});

describe("strips", () => {
  test("every value has its mark, rings for the first group and discs for the second", () => {
    const comparison = day.comparisons[0]!;
    const strip = valueStripSvg(comparison);
    expect(strip.match(/<circle [^>]*fill="var\(--ink, #121813\)"/g)).toHaveLength(6 + 1);
    expect(strip.match(/<circle [^>]*fill="var\(--sheet, #EDF1E6\)"/g)).toHaveLength(6 + 1);
    expect(strip).toContain("gain 96 %");
    const order = orderStripSvg(
      comparison,
      day.runs.map((run) => ({ id: run.id, group: run.label === "off" ? 0 : 1, seconds: run.gates[0]?.seconds as number })),
    );
    expect(order.match(/<circle/g)).toHaveLength(12);
  });

  test("however many values fall together, no mark leaves the drawing or touches the other group or the gain's number", () => {
    const crowd = (label: string, seconds: number, from: number, count: number) =>
      Array.from({ length: count }, (_, i) => judgedRun(from + i, label, seconds + i * 1e-4));
    const strip = valueStripSvg(
      compare({
        gate: "0-60 mph",
        start: "movement",
        groups: ["off", "on"],
        runs: [...crowd("off", 5, 1, 14), ...crowd("on", 4.9, 20, 11)],
        plan: null,
      }),
    );
    const height = Number(/viewBox="0 0 \d+ ([\d.]+)"/.exec(strip)?.[1]);
    const marks = [...strip.matchAll(/<circle cx="([\d.]+)" cy="([\d.]+)" r="8" fill="([^"]+)"/g)]
      .map(([, x, y, fill]) => ({ x: Number(x), y: Number(y), solid: fill?.includes("--ink") }))
      .filter(({ x }) => x > 100);
    expect(marks).toHaveLength(25);
    for (const { y } of marks) expect(y - 9.5).toBeGreaterThanOrEqual(0);
    const rings = marks.filter(({ solid }) => !solid).map(({ y }) => y);
    const discs = marks.filter(({ solid }) => solid).map(({ y }) => y);
    expect(Math.min(...discs) - Math.max(...rings)).toBeGreaterThanOrEqual(19);
    const gainY = Number(/y="([\d.]+)" text-anchor="middle" font-size="18" font-weight="700"/.exec(strip)?.[1]);
    // Letters of 18 px stand some 14 px above their line.
    expect(gainY - 14).toBeGreaterThanOrEqual(Math.max(...discs) + 9.5);
    expect(gainY).toBeLessThan(height);
  });

  test("however many runs, the numbers under the order driven never touch", () => {
    const order = orderStripSvg(
      day.comparisons[0]!,
      Array.from({ length: 60 }, (_, i) => ({ id: 100 + i, group: i % 2, seconds: 5 })),
    );
    const at = [...order.matchAll(/x="([\d.]+)" y="226" text-anchor="middle"/g)].map(([, x]) => Number(x));
    expect(at.length).toBeGreaterThan(10);
    // Three digits of 18 px are some 31 px wide.
    for (const [i, x] of at.slice(1).entries()) expect(x - (at[i] as number)).toBeGreaterThanOrEqual(33);
  });

  test("equal values and single runs draw without dividing by nothing", () => {
    const same = compare({
      gate: "0-60 mph",
      start: "movement",
      groups: ["off", "on"],
      runs: [judgedRun(1, "off", 5), judgedRun(2, "on", 5)],
      plan: null,
    });
    for (const svg of [valueStripSvg(same), orderStripSvg(same, [{ id: 1, group: 0, seconds: 5 }])])
      expect(svg).not.toMatch(/NaN|Infinity|undefined/);
  });
});
