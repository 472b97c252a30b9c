/** A season: days, dry and wet, both ways. Sources: the 600 runs; plain definitions; the design's contract for strata. */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { compare, compareGroups } from "../../../src/shared/judge/compare.ts";
import { CompareError } from "../../../src/shared/judge/compare-pair.ts";
import { drawOrder } from "../../../src/shared/judge/order-set.ts";
import type { Comparison, JudgedRun } from "../../../src/shared/judge/judged-run.ts";
import { createSeededRandom } from "../../../src/shared/judge/seeded-random.ts";
import { judgedRun } from "./judged-run.fixture.ts";

/** 600 runs of four days, every other day wet: wet costs 3 s, and the setting gives `dryS` and `wetS`. Wet days hold more runs of off, as the book did. */
function season(dryS: number, wetS: number, wetScatterS = 0.3): JudgedRun[] {
  const random = createSeededRandom(17);
  return Array.from({ length: 600 }, (_, i) => {
    const day = Math.floor(i / 150);
    const wet = day % 2 === 1;
    const on = random.next() < (wet ? 0.52 : 0.5);
    const seconds = (wet ? 8 : 5) + (wet ? wetScatterS : 0.1) * random.normal() - (on ? (wet ? wetS : dryS) : 0);
    return judgedRun(i + 1, on ? "on" : "off", seconds, {
      day: `2031-05-0${day + 4}`,
      conditions: { surface: wet ? "Wet" : "dry" },
      courseDeg: i % 2 === 0 ? 74 : 254,
    });
  });
}
const asked = (runs: readonly JudgedRun[], more = {}) => ({
  gate: "0-60 mph",
  start: "movement" as const,
  groups: ["off", "on"],
  runs,
  plan: null,
  ...more,
});

/** The three things that must say the same. */
function atOdds({ verdict, headline, said, permutation, asPlanned, decides }: Comparison, adjusted?: number): string | null {
  if (/for sure|yet/.test(verdict)) return verdict;
  const p = adjusted ?? (decides === "asPlanned" ? asPlanned : permutation)?.pTwoSided ?? 1;
  const claims = / is .*(quicker|slower) than /.test(headline);
  const outside = said !== null && (said.low > 0 || said.high < 0);
  if (claims !== (p <= 0.05 && outside)) return `headline: ${headline}, p ${p}, interval ${JSON.stringify(said)}`;
  if (said !== null && (said.shift < said.low || said.shift > said.high)) return `shift outside its interval: ${JSON.stringify(said)}`;
  return null;
}

describe("a season compared", () => {
  test("600 runs, dry and wet: never a difference that is not shown beside an interval that leaves out 0", () => {
    for (const by of [undefined, []]) {
      const result = compare(asked(season(0.19, 0.19), { by }));
      expect(atOdds(result), result.verdict).toBeNull();
    }
    const within = compare(asked(season(0.19, 0.19)));
    expect(within.verdict).toMatch(/^0\.1[789] s quicker, 0\.1\d to 0\.2\d s \(95 %\); if the setting did nothing/);
    expect(within.headline).toMatch(/^on is 0\.1[789] s quicker than off, 0-60 mph\.$/);
  });

  test("says within what it compared, and each stratum beside", () => {
    const { by, within, strata, permutation, used, alone } = compare(asked(season(0.19, 0.19)));
    expect(by).toEqual(["day", "surface", "direction"]);
    expect(within).toBe("4 days, dry and wet, eastbound and westbound: compared within each");
    expect(strata.map(({ name }) => name)).toContain("2031-05-05, wet, westbound");
    expect(strata).toHaveLength(8);
    expect(strata.reduce((sum, { a, b }) => sum + a + b, 0)).toBe(used);
    expect(alone).toEqual([]);
    expect(permutation?.pTwoSided).toBeLessThan(1e-6);
  });

  test("an effect that differs between strata is said, not averaged away", () => {
    const { headline, verdict, effectDiffers } = compare(asked(season(0.15, 0.53)));
    expect(effectDiffers[0]?.by).toBe("surface");
    expect(effectDiffers[0]?.levels.map(({ name }) => name)).toEqual(["dry", "wet"]);
    expect(headline).toMatch(/^on is quicker than off, 0-60 mph, by surface: dry 0\.1\d s quicker, wet 0\.[45]\d s quicker\.$/);
    expect(verdict).toMatch(/it differs by surface: dry 0\.1\d s quicker, 0\.1\d to 0\.1\d s \(95 %\), wet 0\.[45]\d s quicker/);
    expect(compare(asked(season(0.19, 0.19, 0.1))).effectDiffers).toEqual([]);
  });

  test("strata that leave nothing to compare are not used by themselves, and asked for are refused in words", () => {
    const apart = season(0.1, 0.1).map((run) => ({ ...run, day: run.label === "on" ? "2031-05-04" : "2031-05-05" }));
    expect(compare(asked(apart)).by).toEqual(["surface", "direction"]);
    expect(() => compare(asked(apart, { by: ["day"] }))).toThrow('No day holds runs of both "off" and "on"');
    // Four and four both ways: 2 of 36 never reaches 1 in 20, so directions are not used by themselves.
    const few = [5.1, 4.5, 5.2, 4.6, 5.3, 4.4, 5.0, 4.3].map((seconds, i) =>
      judgedRun(i + 1, i % 2 === 0 ? "off" : "on", seconds, { courseDeg: i % 4 < 2 ? 74 : 254 }),
    );
    expect(compare(asked(few)).by).toEqual([]);
    expect(compare(asked(few, { by: ["direction"] })).verdict).toMatch(
      /^cannot tell: four and four never reach 1 in 20 within their strata/,
    );
  });

  test("runs without a partner in their stratum are named, and count in no difference", () => {
    const runs = [...season(0.19, 0.19), judgedRun(601, "on", 9, { day: "2031-06-01", conditions: { surface: "dry" }, courseDeg: 74 })];
    const { alone, warnings, used } = compare(asked(runs));
    expect(used).toBe(601);
    expect(alone).toEqual([601]);
    expect(warnings.join()).toContain(
      "run 601 has no run of the other group with the same day, surface, direction, and counts for nothing here",
    );
  });

  test("a plan that holds a few of a season's runs does not decide it", () => {
    const runs = season(0.19, 0.19);
    const few = runs.filter((run) => run.day === "2031-05-07").slice(0, 12);
    const plan = {
      design: { groups: ["off", "on"], runsPerGroup: 6, directions: 1 as const, orders: "any" as const },
      order: few.map((run) => (run.label === "on" ? 1 : 0)),
      slots: few.map((run) => run.id),
      seed: 1,
    };
    const result = compare(asked(runs, { plan }));
    expect(result.decides).toBe("permutation");
    expect(result.warnings.join()).toContain("the present plan holds 12 of these 600 runs");
  });

  test("calibrations of each day's own part no groups that were driven on the same days", () => {
    const daily = season(0.19, 0.19).map((run) => ({ ...run, calibrationId: Number(run.day?.slice(-2)) }));
    expect(compare(asked(daily)).measurementBetweenGroups).toBeNull();
    expect(compare(asked(daily, { by: [] })).measurementBetweenGroups).not.toBeNull();
  });
});

describe("what is only known of some strata", () => {
  /** Two days, eight and eight each; on the first one `on` has a calibration of its own. */
  const days = (plusMinus: (day: number) => number | null) =>
    [0, 1].flatMap((day) =>
      Array.from({ length: 16 }, (_, i) =>
        judgedRun(16 * day + i + 1, i % 2 === 0 ? "off" : "on", 5 + day - (i % 2) * 0.3 + 0.01 * i, {
          day: `2031-05-0${day + 4}`,
          plusMinus95: plusMinus(day),
          calibrationId: i % 2 === 1 ? 2 + day : 1,
        }),
      ),
    );
  const between = (plusMinus: (day: number) => number | null) => compare(asked(days(plusMinus), { by: ["day"] })).measurementBetweenGroups;

  test("an error of measurement that is unknown is said to be unknown, not 0.000 s", () => {
    expect(between(() => null)).toEqual({
      plusMinus: 0,
      why: "in 2 of 2 strata the groups were timed with other receivers or calibrations; the effect on the difference is unknown",
    });
    expect(between((day) => (day === 0 ? 0.1 : null))?.why).toBe(
      "in 2 of 2 strata the groups were timed with other receivers or calibrations: up to 0.071 s of the difference may be that, so the interval is wider by as much each way; in 1 of them the effect is unknown",
    );
    expect(between(() => 0.1)?.why).toMatch(/up to 0\.141 s .* each way$/);
  });

  test("one strip keeps its directions' names from day to day, although each day's course is a little other", () => {
    // A strip at 22.5 degrees, where north becomes north-east.
    const runs = [22.3, 22.7, 202.6].flatMap((first, day) =>
      Array.from({ length: 8 }, (_, i) =>
        judgedRun(8 * day + i + 1, i % 4 < 2 ? "off" : "on", 5 + 0.01 * ((i * 3) % 8), {
          day: `2031-05-0${day + 4}`,
          courseDeg: (first + (i % 2) * 180) % 360,
        }),
      ),
    );
    expect(compare(asked(runs, { by: ["direction"] })).strata.map(({ name }) => name)).toEqual(["northbound", "southbound"]);
    // Another strip that day has names of its own.
    const turned = runs.map((run) => (run.day === "2031-05-06" ? { ...run, courseDeg: ((run.courseDeg ?? 0) + 90) % 360 } : run));
    expect(compare(asked(turned, { by: ["direction"] })).strata.map(({ name }) => name)).toHaveLength(4);
  });
});

/** Days of coarse times, two or three groups, with and without strata, receivers that differ, a plan, runs set aside. */
const books = fc
  .record({
    seed: fc.integer({ min: 0, max: 1e6 }),
    runs: fc.integer({ min: 6, max: 40 }),
    days: fc.integer({ min: 1, max: 3 }),
    groups: fc.constantFrom(["off", "on"], ["off", "on", "soft"]),
    digits: fc.constantFrom(1, 2, 3),
    effectS: fc.constantFrom(0, 0.05, 0.1, 0.3),
    receivers: fc.boolean(),
    planned: fc.boolean(),
    by: fc.constantFrom(undefined, [], ["day" as const], ["direction" as const]),
  })
  .map(({ seed, runs: count, days, groups, digits, effectS, receivers, planned, by }) => {
    const random = createSeededRandom(seed);
    const design = { groups, runsPerGroup: Math.max(2, Math.ceil(count / groups.length)), directions: 2 as const, orders: "any" as const };
    const order = drawOrder(design, seed);
    const runs = order.map((group, i) => {
      const day = Math.floor((i * days) / order.length);
      const seconds = 5 + day + 0.1 * random.normal() - effectS * group;
      return judgedRun(i + 1, groups[group] as string, Number(seconds.toFixed(digits)), {
        day: `2031-05-0${day + 1}`,
        courseDeg: i % 2 === 0 ? 90 : 270,
        calibrationId: receivers ? group : 1,
        use: random.next() < 0.9,
      });
    });
    // Longer plans are sampled by the hundred thousand: that takes seconds each.
    const plan = planned && count <= 12 && groups.length === 2 ? { design, order, slots: runs.map((run) => run.id), seed: 1 } : null;
    return { ...asked(runs), groups, plan, by };
  });

test("sentence, chance and interval are never at odds, whatever the book", () => {
  fc.assert(
    fc.property(books, (input) => {
      try {
        for (const pair of compareGroups(input).pairs) expect(atOdds(pair, pair.holmP)).toBeNull();
      } catch (error) {
        if (!(error instanceof CompareError)) throw error;
      }
    }),
    { numRuns: 100 },
  );
});

test("of three groups, a pair whose chance is low enough after the others were refused (Holm 1979) is not said to have too few runs", () => {
  const groups = {
    soft: [4.3, 4.3, 4.4, 4.3, -4.2],
    on: [4.8, 4.8, -4.7, -4.8, -4.5],
    off: [5.1, 5, 4.9, -5, -4.9, -4.8, -4.9],
  };
  // Below 0: driven the other way.
  const runs = Object.entries(groups)
    .flatMap(([label, times]) => times.map((seconds) => ({ label, seconds })))
    .map(({ label, seconds }, i) => judgedRun(i + 1, label, Math.abs(seconds), { courseDeg: seconds > 0 ? 90 : 270 }));
  const { pairs } = compareGroups({ ...asked(runs), groups: ["off", "on", "soft"], by: ["direction"] });
  const soft = pairs.find(({ a, b }) => a.label === "on" && b.label === "soft");
  expect(soft?.holmP).toBeLessThanOrEqual(0.05);
  for (const pair of pairs) expect(atOdds(pair, pair.holmP)).toBeNull();
  expect(soft?.warnings.join()).not.toContain("never reach");
});

describe("what speaks against a season's figure", () => {
  const days = (more: (run: JudgedRun) => Partial<JudgedRun>) =>
    compare(asked(season(0.19, 0.19).map((run) => ({ ...run, ...more(run) }))));
  const warned = (more: (run: JudgedRun) => Partial<JudgedRun>) => days(more).warnings.join("\n");

  test("the condition that labels name is the subject, not a warning", () => {
    const labels = (run: JudgedRun) => ({
      label: run.label === "on" ? "slip target 6" : "slip target 8",
      conditions: { ...run.conditions, "slip target": run.label === "on" ? "6 %" : "8 %" },
    });
    const runs = season(0.19, 0.19).map((run) => ({ ...run, ...labels(run) }));
    const result = compare({ ...asked(runs), groups: ["slip target 8", "slip target 6"] });
    expect(result.subject).toBe("slip target 8 % in slip target 8, 6 % in slip target 6");
    expect(result.warnings.join()).not.toContain("unequal slip target");
    // Named by its values alone.
    const byValue = season(0.19, 0.19).map((run) => ({
      ...run,
      conditions: { ...run.conditions, control: run.label === "on" ? "On" : "Off" },
    }));
    expect(compare(asked(byValue)).subject).toBe("control off in off, on in on");
    // A pressure that goes with the label by chance or carelessness is no subject.
    const careless = season(0.19, 0.19).map((run) => ({
      ...run,
      conditions: { ...run.conditions, "tyre pressure": run.label === "on" ? "2.1 bar" : "2.3 bar" },
    }));
    expect(compare(asked(careless)).subject).toBeNull();
    expect(compare(asked(careless)).warnings).toContain("unequal tyre pressure: on average 2.30 bar in off, 2.10 bar in on");
  });

  test("numbers are compared as numbers: 300 pressures that differ in the second digit are no 300 values", () => {
    const pressure = (run: JudgedRun) => ({
      conditions: { ...run.conditions, "tyre pressure": `${(2.1 + (run.id % 7) / 100).toFixed(2)} bar` },
    });
    expect(warned(pressure)).not.toContain("tyre pressure");
  });

  test("surface, day and direction are no warnings where runs are compared within them", () => {
    expect(warned(() => ({}))).not.toMatch(/unequal (surface|directions)|before (on|off)/);
  });

  test("two cars in one comparison are said before all else, unless runs are compared within each", () => {
    const apart = days((run) => ({ car: run.label === "on" ? "Odrel" : "Other" }));
    expect(apart.warnings[0]).toBe(
      "SEVERAL CARS in one comparison: Other in off, Odrel in on; the difference may be the car's, not the setting's",
    );
    const mixed = days((run) => ({ car: run.id % 3 === 0 ? "Odrel" : "Other" }));
    expect(mixed.by).toContain("car");
    expect(mixed.warnings.join()).not.toContain("SEVERAL CARS");
  });

  test("flags, runs set aside and gates not reached are summed by kind, with examples", () => {
    const { warnings } = days((run) => ({
      flags:
        run.id % 2 === 0
          ? [{ flag: "slope", why: "climbs" }]
          : [
              { flag: "pedal", why: "eased" },
              { flag: "slope", why: "climbs" },
            ],
      ...(run.id % 10 === 0 ? { use: false, note: "wind", setAsideAfterTimeSeen: true } : {}),
      ...(run.id % 10 === 1 ? { seconds: null, why: "lifted at 80 km/h" } : {}),
    }));
    const words = warnings.join("\n");
    expect(words).toContain("flagged and in use: 480 runs: slope 480 times (run ");
    expect(words).toMatch(/pedal 240 times \(run \d+, \d+, \d+ \.\.\.\)/);
    expect(words).toContain("60 runs (10, 20, 30 ...) were set aside after its time was seen: wind");
    expect(words).toContain("60 runs (1, 11, 21 ...) have no time here: lifted at 80 km/h");
    expect(Math.max(...warnings.map((warning) => warning.length))).toBeLessThan(300);
  });
});

test("surfaces are compared within each also where most runs of one group have no partner, and the rest counts for nothing", () => {
  // Off: 30 dry and 8 wet runs; soft: 10 wet ones, 0.1 s quicker than off in the wet, 1.4 s slower than off in the dry.
  const wet = { conditions: { surface: "wet" } };
  const dry = { conditions: { surface: "dry" } };
  const runs = [
    ...Array.from({ length: 30 }, (_, i) => judgedRun(i + 1, "off", 5 + 0.01 * (i % 7), dry)),
    ...Array.from({ length: 8 }, (_, i) => judgedRun(31 + i, "off", 6.5 + 0.01 * i, wet)),
    ...Array.from({ length: 10 }, (_, i) => judgedRun(41 + i, "soft", 6.4 + 0.01 * i, wet)),
  ];
  const found = compare({ gate: "0-60 mph", start: "movement", groups: ["off", "soft"], runs, plan: null });
  expect(found.by).toEqual(["surface"]);
  expect(found.hodgesLehmann).toBeCloseTo(-0.09, 1);
  expect(found.alone).toHaveLength(30);
  expect(found.warnings.join("; ")).toContain(
    "30 runs (1, 2, 3 ...) have no run of the other group with the same surface, and count for nothing here",
  );
});

test("groups without a surface in common are compared, with that said before all else", () => {
  const runs = Array.from({ length: 12 }, (_, i) =>
    judgedRun(i + 1, i % 2 === 0 ? "off" : "soft", i % 2 === 0 ? 5 : 6.5, { conditions: { surface: i % 2 === 0 ? "dry" : "wet" } }),
  );
  const { warnings } = compare({ gate: "0-60 mph", start: "movement", groups: ["off", "soft"], runs, plan: null });
  expect(warnings[0]).toBe("NO SURFACE IN COMMON: dry in off, wet in soft; the difference may be the surface's, not the setting's");
});
