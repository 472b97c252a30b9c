/** Source: Magic Formula on dry asphalt, peak at 18 % slip (docs/check-values.md, slip and tyre): launches made from it must be read back as pulling hardest there. */
import { describe, expect, test } from "vitest";
import { adviseFrom, type AdviceRun } from "../../../src/shared/judge/advice.ts";
import type { RunSamples } from "../../../src/shared/run/run.ts";

const dry = (slip: number) => Math.sin(1.9 * Math.atan(10 * slip - 0.97 * (10 * slip - Math.atan(10 * slip))));
const PULL_MPS2 = 6;
const ASKED_NM = 400;

interface Launch {
  readonly slipAt: (speedKmh: number, tS: number) => number;
  readonly heldAt: (speedKmh: number, tS: number) => number;
  readonly pedal?: number;
}

/** Integrates one launch on a 10 ms grid: acceleration follows the tyre at the given slip. */
function launch(id: number, { slipAt, heldAt, pedal = 100 }: Launch): AdviceRun {
  const count = 700;
  const column = () => new Float64Array(count);
  const samples = {
    tS: column(),
    groundSpeedMps: column(),
    slipRatio: column(),
    accelerationMps2: column(),
    roles: { pedal: column(), torqueRequest: column(), torqueDelivered: column() },
  };
  let v = 0;
  for (let i = 0; i < count; i += 1) {
    const t = i / 100;
    const kmh = v * 3.6;
    const slip = slipAt(kmh, t);
    const a = PULL_MPS2 * dry(slip);
    samples.tS[i] = t;
    samples.groundSpeedMps[i] = v;
    samples.slipRatio[i] = kmh < 10 ? Number.NaN : slip;
    samples.accelerationMps2[i] = a;
    samples.roles.pedal[i] = pedal;
    samples.roles.torqueRequest[i] = ASKED_NM;
    samples.roles.torqueDelivered[i] = ASKED_NM - heldAt(kmh, t);
    v += a / 100;
  }
  const unknown = column().fill(Number.NaN);
  const rest = { groundSpeedSigmaMps: unknown, wheelSpeedMps: unknown, slipSpeedMps: unknown, slipSigma: unknown, distanceM: unknown };
  return { id, samples: { ...samples, ...rest } satisfies RunSamples, movementS: 0, endS: 6.5 };
}

const twice = (made: Launch) => [launch(1, made), launch(2, made)];
/** Sweeps slip over the curve's top below 30 km/h, so that the best slip is in the data. */
const sweep = (kmh: number) => 0.1 + (0.16 * kmh) / 30;

describe("adviseFrom()", () => {
  test("finds where the control held back too much, and says where the tyre pulls hardest", () => {
    const hints = adviseFrom(
      twice({ slipAt: (kmh) => (kmh < 30 ? sweep(kmh) : kmh < 50 ? 0.05 : 0.18), heldAt: (kmh) => (kmh >= 30 && kmh < 50 ? 60 : 10) }),
    );
    const [first] = hints;
    expect(first?.kind).toBe("allowMoreSlip");
    expect(first?.evidence.hardestAtSlip).toBeGreaterThan(0.15);
    expect(first?.evidence.hardestAtSlip).toBeLessThan(0.22);
    expect([30, 40]).toContain(first?.evidence.fromKmh);
    expect(first?.evidence.heldNm).toBeCloseTo(60, 6);
    expect(first?.words).toMatch(
      /^Pulls hardest at \d+ % slip: [56]\.\d m\/s²\. From \d+ to \d+ km\/h it slips 5 %, holds 60 Nm back and pulls 4\.4 m\/s²\. Allow more slip there, and only that\.$/,
    );
    expect(first?.runs).toEqual([1, 2]);
  });

  test("finds where it let the wheels spin past the top of the curve", () => {
    const hints = adviseFrom(twice({ slipAt: (kmh) => (kmh < 30 ? sweep(kmh) : kmh < 50 ? 0.9 : 0.18), heldAt: () => 20 }));
    expect(hints[0]?.kind).toBe("allowLessSlip");
    expect(hints[0]?.words).toContain("Hold back more there, and only that.");
  });

  test("measures how late the control answers", () => {
    const hints = adviseFrom(twice({ slipAt: () => 0.18, heldAt: (kmh, t) => (kmh > 10 && t > 0.9 ? 40 : 0) }));
    const late = hints.find((hint) => hint.kind === "answersLate");
    // 10 km/h is reached at 2.78 / (6 x dry(0.18)) = 0.46 s; slip counts from there.
    expect(late?.evidence.answerS).toBeGreaterThan(0.4);
    expect(late?.evidence.answerS).toBeLessThan(0.48);
  });

  test("of several changes each is a test of its own", () => {
    const hints = adviseFrom(twice({ slipAt: (kmh) => (kmh < 30 ? sweep(kmh) : kmh < 70 ? 0.9 : 0.18), heldAt: () => 20 }));
    expect(hints.length).toBeGreaterThan(1);
    expect(hints[0]?.words).toMatch(/^Pulls hardest/);
    for (const { words } of hints.slice(1)) expect(words).toMatch(/^In a test of its own: /);
  });

  test("says nothing of launches at the top of the curve, of one run, or of a lifted pedal", () => {
    const even: Launch = { slipAt: () => 0.18, heldAt: () => 20 };
    expect(adviseFrom(twice(even))).toEqual([]);
    const held: Launch = { slipAt: (kmh) => (kmh < 30 ? sweep(kmh) : 0.05), heldAt: () => 60 };
    expect(adviseFrom(twice(held)).length).toBeGreaterThan(0);
    expect(adviseFrom([launch(1, held)])).toEqual([]);
    expect(adviseFrom(twice({ ...held, pedal: 30 }))).toEqual([]);
  });

  test("unknown torque or slip gives no hint", () => {
    const runs = twice({ slipAt: (kmh) => (kmh < 30 ? sweep(kmh) : 0.05), heldAt: () => 60 }).map((run) => ({
      ...run,
      samples: { ...run.samples, roles: {} },
    }));
    expect(adviseFrom(runs)).toEqual([]);
  });
});
