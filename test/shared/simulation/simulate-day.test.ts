/**
 * Whole simulated days: determinism, order, the classes' times, true values against the car's own path, and that no decoy is a launch by
 * the design's rule.
 */
import { describe, expect, test } from "vitest";
import { createDrive, type FinishedLaunch } from "../../../src/shared/simulation/drive.ts";
import type { DecoyName } from "../../../src/shared/simulation/plan.ts";
import { readPlan } from "../../../src/shared/simulation/read-plan.ts";
import { type DayTruth, simulateDay } from "../../../src/shared/simulation/simulate-day.ts";

const SHORT = {
  segments: [
    { kind: "gentle", seconds: 20 },
    { kind: "launch", label: "one", toKmh: 110 },
  ],
};
const secondsOf = (run: DayTruth["runs"][number] | undefined, gate: string, start: string) =>
  run?.gates.find((g) => g.gate === gate && g.start === start)?.seconds ?? Number.NaN;

/** FNV-1a over every packet's stream, arrival and bytes. */
function fingerprint(seed: number, raw: unknown): { hash: number; packets: number } {
  let hash = 0x811c9dc5;
  let packets = 0;
  const add = (value: number) => {
    hash = Math.imul(hash ^ value, 0x01000193) >>> 0;
  };
  for (const packet of simulateDay({ seed, plan: readPlan(raw, seed) }).packets) {
    packets += 1;
    add(packet.stream === "can" ? 1 : 2);
    add(packet.arrivalUs % 65536);
    add(Math.floor(packet.arrivalUs / 65536));
    for (const byte of packet.bytes) add(byte);
  }
  return { hash, packets };
}

/** Runs a plan through the drive and calls `look` each millisecond. */
function ride(raw: unknown, look: (drive: ReturnType<typeof createDrive>, ms: number) => void): FinishedLaunch[] {
  const plan = readPlan(raw, 1);
  const launches: FinishedLaunch[] = [];
  const drive = createDrive({ seed: 1, plan, segments: plan.segments[Symbol.iterator](), onLaunch: (launch) => launches.push(launch) });
  for (let ms = 0; drive.step(); ms += 1) {
    look(drive, ms);
    drive.take();
  }
  return launches;
}

test("simulateDay() gives the same bytes for the same seed and others for another", () => {
  const first = fingerprint(3, SHORT);
  expect(fingerprint(3, SHORT)).toEqual(first);
  expect(fingerprint(4, SHORT).hash).not.toBe(first.hash);
});

test("simulateDay() keeps its truth back until the last packet", () => {
  const day = simulateDay({ seed: 1, plan: readPlan(SHORT, 1) });
  day.packets.next();
  expect(() => day.truth()).toThrow("last packet");
});

describe("the demo day", () => {
  const day = simulateDay({ seed: 1 });
  let lastUs = 0;
  let outOfOrder = 0;
  for (const packet of day.packets) {
    if (packet.arrivalUs < lastUs || !Number.isInteger(packet.arrivalUs)) outOfOrder += 1;
    lastUs = packet.arrivalUs;
  }
  const truth = day.truth();
  const times = (label: string) =>
    truth.runs
      .filter((run) => run.label === label)
      .map((run) => secondsOf(run, "0-60 mph", "movement"))
      .sort((a, b) => a - b);

  test("arrives in order and lasts 15 to 25 minutes", () => {
    expect(outOfOrder).toBe(0);
    expect(lastUs / 60e6).toBeGreaterThan(15);
    expect(lastUs / 60e6).toBeLessThan(25);
  });

  test("holds six launches of each kind: about 5.0 s to 60 mph without control, 4.35 to 4.5 s with (common practice, no source)", () => {
    const off = times("traction control off");
    const on = times("traction control on");
    expect([off.length, on.length]).toEqual([6, 6]);
    expect(on[0]).toBeGreaterThan(4.25);
    expect(on[5]).toBeLessThan(4.6);
    expect(off[0]).toBeGreaterThan(4.7);
    expect(off[5]).toBeLessThan(5.6);
  });

  test("spins wildly without control and little with it", () => {
    for (const run of truth.runs) {
      if (run.label === "traction control on") expect(run.slip.peakSlipRatio).toBeLessThan(0.2);
      else expect(run.slip.secondsAbove10Percent).toBeGreaterThan(1.5);
    }
  });

  test("tells gates that fit each other, and moments that rise", () => {
    let before = 0;
    for (const run of truth.runs) {
      const toSixty = secondsOf(run, "0-60 mph", "movement");
      expect(secondsOf(run, "0-30 mph", "movement") + secondsOf(run, "30-60 mph", "entry")).toBeCloseTo(toSixty, 6);
      expect(secondsOf(run, "0-60 mph", "1 ft")).toBeLessThan(toSixty);
      expect(Date.parse(run.movementUtc as string)).toBeGreaterThan(before + 60_000);
      before = Date.parse(run.movementUtc as string);
    }
  });

  test("gives delay and radius near what a set-up would guess", () => {
    expect(truth.rollingRadiusM).toBeCloseTo(0.324, 1);
    expect(truth.gnssDelayS).toBeGreaterThan(0.04);
    expect(truth.gnssDelayS).toBeLessThan(0.08);
  });
});

test("a launch's truth agrees with the car's own path: the integral of true speed reaches 60 ft at the 60 ft gate", () => {
  const path: { tS: number; v: number }[] = [];
  const [launch] = ride({ hostPpm: 0, segments: [{ kind: "launch", tractionControl: false, toKmh: 120 }] }, (drive, ms) =>
    path.push({ tS: (ms + 1) / 1e3, v: drive.state.speedMps }),
  );
  const movementS = launch?.movementHostS as number;
  const gate = launch?.truth.gates.find((g) => g.gate === "60 ft" && g.start === "movement");
  let metres = 0;
  for (let i = 1; i < path.length; i += 1) {
    const [a, b] = [path[i - 1], path[i]] as [{ tS: number; v: number }, { tS: number; v: number }];
    if (b.tS > movementS && b.tS <= movementS + (gate?.seconds as number)) metres += 0.5 * (a.v + b.v) * 1e-3;
  }
  expect(Math.abs(metres - 18.288)).toBeLessThan(0.02);
});

test("static hold: torque stands against the brakes while the car does not move, then it goes", () => {
  let heldMs = 0;
  const [launch] = ride({ segments: [{ kind: "launch", staticHoldNm: 80, toKmh: 60 }] }, ({ state }) => {
    if (state.speedMps === 0 && state.deliveredNm > 75) heldMs += 1;
  });
  expect(heldMs).toBeGreaterThan(150);
  expect(launch?.truth.gates.find((g) => g.gate === "0-30 mph")?.seconds).toBeGreaterThan(1);
});

test("a wet road costs time, and the label and surface asked for are kept", () => {
  const [wet] = ride({ segments: [{ kind: "launch", label: "wet", surface: "wet", toKmh: 100 }] }, () => undefined);
  expect(wet?.segment.label).toBe("wet");
  expect(wet?.truth.gates.find((g) => g.gate === "0-60 mph")?.seconds).toBeGreaterThan(5);
});

/** The greatest values that the launch rule looks at: pedal, and acceleration held for half a second. */
function extremes(what: DecoyName) {
  let pedalPercent = 0;
  let heldMps2 = 0;
  const speeds: number[] = [];
  let top = 0;
  let least = 0;
  let spin = 0;
  ride({ segments: [{ kind: "decoy", what }] }, ({ state, controls, car }) => {
    speeds.push(state.speedMps);
    pedalPercent = Math.max(pedalPercent, controls.pedalPercent);
    if (speeds.length > 500) heldMps2 = Math.max(heldMps2, (state.speedMps - speeds[speeds.length - 501]) / 0.5);
    top = Math.max(top, state.speedMps);
    least = Math.min(least, state.speedMps);
    spin = Math.max(spin, state.axleRadps * car.rollingRadiusM - state.speedMps);
  });
  return { pedalPercent, heldMps2, top, least, spin, ends: speeds.at(-1) };
}

test.each(["falseStart", "creep", "push", "reverse", "spin", "driveBack"] as const)(
  "decoy %s never meets the launch rule and ends standing",
  (what) => {
    const seen = extremes(what);
    expect(seen.pedalPercent).toBeLessThan(50);
    expect(seen.heldMps2).toBeLessThan(2.5);
    expect(seen.ends).toBe(0);
    if (what === "spin") expect([seen.top < 0.05, seen.spin > 8]).toEqual([true, true]);
    else if (what === "reverse") expect(seen.least).toBeLessThan(-1);
    else expect(seen.top).toBeGreaterThan(0.5);
  },
);

test("gentle driving holds torque of both signs at speeds 40 km/h apart, never over half pedal or 2.5 m/s2", () => {
  const kmhBySign: [number[], number[]] = [[], []];
  let hardest = 0;
  let pedal = 0;
  ride({ segments: [{ kind: "gentle", seconds: 120 }] }, ({ state, controls }, ms) => {
    pedal = Math.max(pedal, controls.pedalPercent);
    if (state.speedMps > 3) hardest = Math.max(hardest, Math.abs(state.accelerationMps2));
    if (ms % 100 === 0 && Math.abs(state.deliveredNm) > 40 && controls.frontBrakeN === 0)
      kmhBySign[state.deliveredNm > 0 ? 0 : 1].push(state.speedMps * 3.6);
  });
  expect(pedal).toBeLessThan(50);
  expect(hardest).toBeLessThan(2.5);
  for (const kmh of kmhBySign) expect(Math.max(...kmh) - Math.min(...kmh)).toBeGreaterThan(40);
});
