/** The live state machine: every state, the six decoys, abort, and agreement with the finder that sees the whole. */
import { describe, expect, test } from "vitest";
import { estimateRun } from "../../../src/shared/run/estimate-run.ts";
import { findLaunches } from "../../../src/shared/launch/find-launches.ts";
import { STANDARD_GATES } from "../../../src/shared/launch/gate.ts";
import { createLaunchStates, type LaunchEvent, type LiveSample } from "../../../src/shared/launch/launch-states.ts";
import { createRestWatch } from "../../../src/shared/launch/rest-watch.ts";
import { generateLaunch } from "./launch-generator.ts";

type Drive = (t: number) => Partial<LiveSample>;

/** From the true speed of a drive, what the rest watch would say without noise: at rest for a second, over 2.5 m/s2 for half a second. */
const seen = (drive: Drive, tS: number) => {
  const speed = (t: number) => drive(Math.max(0, t)).groundSpeedMps ?? Number.NaN;
  const second = Array.from({ length: 11 }, (_, k) => speed(tS - k / 10));
  const v = speed(tS);
  const atRest = tS >= 1 && second.every((one) => one < 0.1389);
  return {
    atRest,
    still: atRest,
    moves: v > 0.1389,
    hard: (v - speed(tS - 0.5)) / 0.5 > 2.5,
    restLevelMps: 0.1,
  };
};

/** Feeds 50 samples a second until `endS`; unknown things are null. */
function play(states: ReturnType<typeof createLaunchStates>, drive: Drive, endS: number, fromS = 0): LaunchEvent[] {
  const events: LaunchEvent[] = [];
  for (let k = Math.round(fromS * 50); k < endS * 50; k++) {
    const tS = k / 50;
    events.push(
      ...states.push({
        groundSpeedMps: null,
        wheelSpeedMps: null,
        pedalPercent: null,
        accelerationMps2: null,
        ...seen(drive, tS),
        ...drive(tS),
        tS,
      }),
    );
  }
  return events;
}

const names = (events: readonly LaunchEvent[]) => events.flatMap((event) => (event.kind === "state" ? [event.state] : []));
const go = (from: number, to: number) => (t: number) => {
  const v = t < from ? 0 : t < to ? 5 * (t - from) : Math.max(0, 5 * (to - from) - 8 * (t - to));
  return {
    groundSpeedMps: v,
    wheelSpeedMps: v,
    pedalPercent: t >= from && t < to ? 100 : 0,
  };
};

describe("createLaunchStates()", () => {
  test("armed, standing, launched, done, and standing again by itself", () => {
    const states = createLaunchStates();
    expect(states.state()).toBe("idle");
    expect(play(states, go(3, 9), 2)).toHaveLength(0);
    expect(names(states.arm(2))).toEqual(["armed"]);
    const events = play(states, go(4, 10), 20, 2);
    expect(names(events)).toEqual(["standing", "armed", "launched", "done", "standing"]);
    const gate = events.find((event) => event.kind === "gate" && event.gate === "0-60 mph" && event.start === "movement");
    // v = 5 t: 26.8224 / 5 from rest, 0.5 km/h after (0.5 / 3.6) / 5 s (docs/check-values.md, kinematics).
    expect(gate).toMatchObject({ seconds: expect.closeTo(5.36448 - 0.5 / 3.6 / 5, 1) });
    expect(events.find((event) => event.kind === "ended")).toMatchObject({ why: "lift" });
  });

  test("stands again by itself, run after run, until it is disarmed", () => {
    const states = createLaunchStates();
    states.arm(0);
    const again: Drive = (t) => go(4, 10)(t % 20);
    expect(names(play(states, again, 60)).filter((name) => name === "launched")).toHaveLength(3);
    states.abort(60);
    expect(play(states, again, 80, 60)).toEqual([]);
  });

  test.each<[string, Drive]>([
    ["creep", (t) => ({ groundSpeedMps: t > 5 ? 0.8 : 0, pedalPercent: 3 })],
    ["push", (t) => ({ groundSpeedMps: t > 5 ? Math.min(1.8, 0.4 * (t - 5)) : 0, pedalPercent: 0 })],
    ["gentle drive-off", (t) => ({ groundSpeedMps: t > 5 ? 1.2 * (t - 5) : 0, pedalPercent: t > 5 ? 20 : 0 })],
    ["spin on the spot", (t) => ({ groundSpeedMps: 0.02, wheelSpeedMps: t > 5 ? 12 : 0, pedalPercent: t > 5 ? 100 : 0 })],
    [
      "reversing",
      (t) => ({ groundSpeedMps: t > 5 ? 2 * (t - 5) : 0, wheelSpeedMps: t > 5 ? -2 * (t - 5) : 0, pedalPercent: t > 5 ? 60 : 0 }),
    ],
    ["unknown ground speed", (t) => ({ wheelSpeedMps: t > 5 ? 5 * (t - 5) : 0, pedalPercent: t > 5 ? 100 : 0 })],
  ])("never launches on a decoy: %s", (_, drive) => {
    const states = createLaunchStates();
    states.arm(0);
    expect(names(play(states, drive, 15))).not.toContain("launched");
  });

  test("a false start is taken back without a run", () => {
    const states = createLaunchStates();
    states.arm(0);
    const drive: Drive = (t) => ({ groundSpeedMps: t > 4 && t < 4.6 ? 1.2 : 0, pedalPercent: t > 4 && t < 4.3 ? 100 : 0 });
    const events = play(states, drive, 8);
    expect(names(events)).toEqual(["standing", "launched", "armed", "standing"]);
    expect(events.some((event) => event.kind === "ended")).toBe(false);
  });

  test("a start that never reaches 10 km/h and rolls on is taken back as well, pedal lifted or not", () => {
    for (const pedalPercent of [0, 60]) {
      const states = createLaunchStates();
      states.arm(0);
      const drive: Drive = (t) => ({ groundSpeedMps: t > 4 ? 1.2 : 0, pedalPercent: t > 4 && t < 4.3 ? 100 : pedalPercent });
      const events = play(states, drive, 14);
      expect(names(events)).toEqual(["standing", "launched", "armed"]);
      expect(events.some((event) => event.kind === "ended")).toBe(false);
    }
  });

  test("a noisy dip just after the start ends nothing; a stop within the run does", () => {
    const states = createLaunchStates();
    states.arm(0);
    const dip: Drive = (t) => ({ ...go(4, 10)(t), ...(t > 4.1 && t < 4.2 ? { groundSpeedMps: 0.05 } : {}) });
    expect(names(play(states, dip, 9))).toEqual(["standing", "armed", "launched"]);
    const stopped = createLaunchStates();
    stopped.arm(0);
    const early: Drive = (t) => ({ ...go(4, 6)(t), pedalPercent: t > 4 ? 100 : 0 });
    const events = play(stopped, early, 12);
    expect(events.find((event) => event.kind === "ended")).toMatchObject({ why: "stopped" });
    expect(names(events)).toEqual(["standing", "armed", "launched", "done", "standing"]);
  });

  test("standing ends at once where any source sees the car roll or nothing is known of it; the launch that follows begins all the same", () => {
    const rolls: Drive = (t) => ({ ...go(4, 10)(t), still: t >= 1 && t < 3.5 });
    const states = createLaunchStates();
    states.arm(0);
    const events = play(states, rolls, 20);
    expect(events.find((event) => event.kind === "state" && event.state === "armed")).toMatchObject({ tS: expect.closeTo(3.5, 2) });
    expect(names(events).slice(0, 4)).toEqual(["standing", "armed", "launched", "done"]);
    const unknown = createLaunchStates();
    unknown.arm(0);
    expect(names(play(unknown, (t) => ({ groundSpeedMps: t < 3 ? 0 : null }), 5))).toEqual(["standing", "armed"]);
  });

  test("abort ends a launch and waits for arming; before a launch it disarms", () => {
    const states = createLaunchStates();
    states.arm(0);
    play(states, go(4, 20), 7);
    const events = states.abort(7);
    expect(events[0]).toMatchObject({ kind: "ended", why: "abort" });
    expect(states.state()).toBe("aborted");
    expect(names(play(states, go(4, 20), 30, 7))).toEqual([]);
    expect(names(states.arm(30))).toEqual(["armed"]);
    expect(names(states.abort(31))).toEqual(["idle"]);
  });

  test("its provisional 0-60 agrees with the run that is estimated from the whole", () => {
    const launch = generateLaunch({ seed: 12, liftAtMps: 32 });
    const [window] = findLaunches(launch.recording, launch.calibration, launch.setUp, []);
    const run = estimateRun({ ...launch, window, gates: STANDARD_GATES, uid: "whole" });
    const settled = run.gates.find((gate) => gate.gate === "0-60 mph" && gate.start === "movement")?.seconds ?? Number.NaN;
    const states = createLaunchStates();
    states.arm(0);
    const { tS, speedMps } = launch.recording.epochs;
    const watch = createRestWatch(() => launch.calibration.receiverNoise);
    const events = [...tS.keys()].flatMap((i) => {
      const at = tS[i] - launch.calibration.gnssDelayS.value;
      watch.push(at, speedMps[i]);
      const moving = {
        atRest: watch.atRest(),
        still: watch.atRest(),
        moves: watch.moves(),
        hard: watch.hard(),
        restLevelMps: watch.restLevelMps(),
      };
      const pedal = at > window.restS + 0.2 && at < window.liftS ? 100 : 0;
      return states.push({
        tS: at,
        groundSpeedMps: speedMps[i],
        wheelSpeedMps: null,
        pedalPercent: pedal,
        accelerationMps2: null,
        ...moving,
      });
    });
    const live = events.find((event) => event.kind === "gate" && event.gate === "0-60 mph" && event.start === "movement");
    // A straight line between 10 Hz epochs is exact to about a tenth of their step.
    expect(live?.kind === "gate" ? Math.abs(live.seconds - settled) : Number.NaN).toBeLessThan(0.06);
  });
});
