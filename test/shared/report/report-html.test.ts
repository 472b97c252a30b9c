/** docs/judging.md and docs/look.md "Report": what must be on the page, that nothing can be fetched from it, and that foreign text stays text. Well-formedness by Python's XML parser (SVG parts) and html.parser. */
import { spawnSync } from "node:child_process";
import { describe, expect, test } from "vitest";
import { compare } from "../../../src/shared/judge/compare.ts";
import { lengthWords } from "../../../src/shared/judge/usable-length.ts";
import { KMH_AND_M, saidIn } from "../../../src/shared/kernel/shown-units.ts";
import { reportHtml } from "../../../src/shared/report/report-html.ts";
import { judgedRun } from "../judge/judged-run.fixture.ts";
import type { ReportInput } from "../../../src/shared/report/report-input.ts";
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
      "0.63 s quicker, 0.54 to 0.89 s (96 %); if the setting did nothing, chance alone would give a difference this large in 2 of the 380 orders that this plan could have drawn.",
      "4.350 ± 0.012",
      "at 63.1 km/h",
      "0.3240 ± 0.0004",
      "calibrated",
      "wheelspin: slip over 10 % for 3.3 s",
      "used in spite of it",
      "nearly drift-balanced orders of 380 orders, seed 7",
      "&quot;Odrel&quot;",
      "Gripbook 0.1.0",
      "These times say nothing about road safety",
      "closed course",
      "Simulated car: every figure here is invented.",
      "a hint, not a result",
      "On loses 1.23\u00a0s, 0-60 mph; most of it held back.",
      "Best slip 18.0 % ± 0.5 %, friction there 1.000 ± 0.020.",
      "held back 1.23 ±",
      "Let it slip 18",
      "Run 12 is left out: Derated.",
    ]) {
      expect(html).toContain(part);
    }
    // All prints of one height, with the lane of marks that the two runs of "on" need; the key stands once.
    expect(html.match(/<svg viewBox="0 0 300 168.3" role="img"><title>Run \d+, /g)).toHaveLength(12);
    expect(html.split("slip over what is allowed, no answer yet")).toHaveLength(2);
  });

  test("the plan's order is a numbered list of group and direction, also of a group whose name has a comma; its lengths are those of Plan", () => {
    const slots = [
      { group: "off, soft", direction: "outbound" },
      { group: "on", direction: "back" },
    ];
    const planned = reportHtml({ ...day, plan: { ...day.plan!, slots } });
    const list = /<ol class="order">(.*?)<\/ol>/s.exec(planned)?.[1] ?? "";
    const items = [...list.matchAll(/<li>(.*?)<\/li>/gs)].map(([, item]) => item!.replace(/<[^>]*>/g, "|").split("|"));
    expect(items.map((parts) => parts.filter((part) => part.trim() !== ""))).toEqual(
      slots.map(({ group, direction }) => [group, direction]),
    );
    expect(planned).toContain(`${saidIn(KMH_AND_M, lengthWords(day.plan!.length))}; run-off: grass, 200 m.`);
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
      tune: {
        ...day.tune,
        grip: day.tune.grip.map((curve) => ({ ...curve, surface: ATTACK, why: ATTACK, bestSlip: null })),
        groups: day.tune.groups.map((group) => ({ ...group, label: ATTACK })),
        advice: day.tune.advice.map((one) => ({ ...one, group: ATTACK, words: ATTACK })),
        silent: [ATTACK],
      },
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

  test("text from outside stays text, wherever a book holds it: each leaf of the day in turn", () => {
    const leaves: (readonly (string | number)[])[] = [];
    const walk = (value: unknown, path: readonly (string | number)[]): void => {
      if (typeof value !== "object" || value === null) leaves.push(path);
      else if (Array.isArray(value)) for (const i of [0, 1].slice(0, value.length)) walk(value[i], [...path, i]);
      else for (const [key, item] of Object.entries(value)) walk(item, [...path, key]);
    };
    walk(day, []);
    const stayedText: string[] = [];
    let written = 0;
    for (const path of leaves) {
      const attacked = structuredClone(day);
      const holder = path.slice(0, -1).reduce<unknown>((value, key) => (value as Record<string, unknown>)[key], attacked);
      (holder as Record<string, unknown>)[path.at(-1) as string] = ATTACK;
      let page: string;
      try {
        page = reportHtml(attacked);
      } catch {
        // A text where a number belongs may be refused; it must not be printed.
        continue;
      }
      written += 1;
      if (/<script|<img/.test(page)) stayedText.push(path.join("."));
    }
    expect(stayedText).toEqual([]);
    expect(written).toBeGreaterThan(100);
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
  });

  test("a day without runs, comparison, plan or calibration says so in words", () => {
    const bare = reportHtml({
      ...day,
      day: null,
      simulated: false,
      runs: [],
      comparisons: [],
      plan: null,
      tune: { ...day.tune, car: null, grip: [], groups: [], advice: [], silent: ["There is no run in use yet."] },
      calibrations: [],
      changes: [],
    });
    for (const part of [
      "No comparison yet",
      "undated",
      "No plan",
      "No calibration yet",
      "Nothing was changed by hand",
      "No advice.",
      "There is no run in use yet.",
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
    // A reader who knows nothing sees how many runs, and what the per cent are of.
    expect(page).toContain("From 3 runs of off and 4 of on. The per cent in brackets is the interval's confidence");
    // The word that screens use for a course, with its figure.
    expect(page).toContain("east (74°)");
    expect(page).not.toContain("..<");
    expect(page).toContain("Run 7 was set aside after its time was seen: missed it.");
  });
});

describe("the report of a season", () => {
  /** 600 runs, each flagged, with a condition and a change. */
  const season = (): ReportInput => {
    const day = reportDay();
    const runs = Array.from({ length: 600 }, (_, i) => {
      const run = day.runs[i % 12] as (typeof day.runs)[0];
      const slower = run.gates.map((gate) => ({ ...gate, seconds: gate.seconds === null ? null : gate.seconds + i / 1e4 }));
      return { ...run, id: i + 1, uid: `uid${i + 1}`, gates: slower, flags: [{ flag: "slope" as const, why: "climbs" }] };
    });
    const changes = runs.map(({ id }) => ({ at: "2031-05-04T10:00:00Z", run: id, what: "label", before: "", after: "on" }));
    return { ...day, runs, changes, tunedNewest: 12 };
  };
  const count = (text: string, what: RegExp) => text.match(what)?.length ?? 0;

  test("prints and tables are of chosen runs, flags are summed by kind, and what is left out is said", () => {
    const text = reportHtml(season());
    expect(count(text, /<figcaption>/g)).toBe(12);
    expect(count(text, /<tr>/g)).toBeLessThan(200);
    expect(text).toContain("12 of 600 runs are shown one by one here: the quickest, the middle and the slowest of each group.");
    expect(text).toContain("1, 2, 3 ... (600 runs)");
    expect(text).toContain("The newest 100 of 600 changes");
    expect(text).toContain("Grip and lost time here are of the newest 12 runs of each group alone.");
    expect(text.length).toBeLessThan(1_000_000);
  });

  test("flags are summed in their words, not by the names in the program", () => {
    const runs = season().runs.map((run) => ({ ...run, flags: [{ flag: "slowReceiver" as const, why: "1 Hz" }] }));
    const overruled = runs.map((run) => ({ ...run, flags: run.flags.map((flag) => ({ ...flag, overruled: "it is enough" })) }));
    expect(reportHtml({ ...season(), runs })).toContain('<th scope="row">slow receiver</th>');
    expect(reportHtml({ ...season(), runs: overruled })).toContain('<th scope="row">slow receiver, overruled</th>');
    expect(reportHtml({ ...season(), runs })).not.toContain("slowReceiver");
  });

  test("says which runs are shown where nothing is compared, and claims no comparison of the others", () => {
    const text = reportHtml({ ...season(), comparisons: [] });
    expect(count(text, /<figcaption>/g)).toBe(48);
    expect(text).toContain("48 of 600 runs are shown one by one here: the newest. The book&#39;s table and export hold all of them.");
    for (const one of [text, reportHtml({ ...season(), comparisons: [], shown: [3] }), reportHtml(season())])
      expect(one).not.toContain("All of them are compared");
    expect(reportHtml(season())).toContain("The comparison above is not of these alone.");
  });

  test("asked for by number, those are shown; a day is shown whole", () => {
    expect(count(reportHtml({ ...season(), shown: [3, 7, 599] }), /<figcaption>/g)).toBe(3);
    expect(count(reportHtml(reportDay()), /<figcaption>/g)).toBe(12);
    expect(reportHtml(reportDay())).not.toContain("shown one by one");
  });
});
