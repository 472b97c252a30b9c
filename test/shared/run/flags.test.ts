/** Flags: each is raised by its own cause, not by less of it, and has a sentence; and the flags that need other runs. */
import { describe, expect, test } from "vitest";
import type { AlignedRecording, TimedColumn } from "../../../src/shared/align/aligned-recording.ts";
import { estimateRun } from "../../../src/shared/run/estimate-run.ts";
import { findLaunches } from "../../../src/shared/launch/find-launches.ts";
import { STANDARD_GATES } from "../../../src/shared/launch/gate.ts";
import { flagGroups, type GroupedRun } from "../../../src/shared/run/group-flags.ts";
import type { Flag } from "../../../src/shared/run/run.ts";
import { type GeneratedLaunch, generateLaunch } from "../launch/launch-generator.ts";

const clean = generateLaunch({ seed: 21, liftAtMps: 30 });

function flagsOf(
  launch: GeneratedLaunch,
  change: (recording: AlignedRecording) => AlignedRecording = (same) => same,
  marks: Parameters<typeof findLaunches>[3] = [],
): readonly Flag[] {
  const recording = change(launch.recording);
  const [window] = findLaunches(recording, launch.calibration, launch.setUp, marks);
  return estimateRun({ ...launch, recording, window, gates: STANDARD_GATES, uid: "flags" }).flags;
}

const withRole = (role: string, column: TimedColumn) => (recording: AlignedRecording) => ({
  ...recording,
  roles: { ...recording.roles, [role]: column },
});
const column = (name: string, unit: string, at: (t: number) => number): TimedColumn => {
  const tS = Float64Array.from({ length: 2500 }, (_, k) => k / 100);
  return { name, unit, quantum: 0.1, tS, value: tS.map(at) };
};
const epochs = (change: (epochs: AlignedRecording["epochs"]) => Partial<AlignedRecording["epochs"]>) => (recording: AlignedRecording) => ({
  ...recording,
  epochs: { ...recording.epochs, ...change(recording.epochs) },
});
const only = (flags: readonly Flag[]) => flags.map((flag) => flag.flag);

const hole = (stream: "can" | "gnss", fromS: number) => (recording: AlignedRecording) => ({
  ...recording,
  gaps: [{ stream, fromNs: fromS * 1e9, toNs: (fromS + 0.3) * 1e9, cause: "adapter restarted" }],
});
const without = (from: number, to: number) => (recording: AlignedRecording) => {
  const { tS, ...others } = recording.epochs;
  const keep = (_: unknown, i: number) => i < from || i >= to;
  const kept = Object.fromEntries(
    Object.entries(others).map(([key, values]) => [
      key,
      typeof values === "boolean" ? values : (values as readonly unknown[]).filter(keep),
    ]),
  );
  return { ...recording, epochs: { ...recording.epochs, ...kept, tS: tS.filter(keep) } as AlignedRecording["epochs"] };
};
const sparse = (fromS: number, toS: number) => (recording: AlignedRecording) => {
  const pedal = recording.roles.pedal as TimedColumn;
  const keep = [...pedal.tS.keys()].filter((i) => pedal.tS[i] < fromS || pedal.tS[i] > toS);
  return withRole("pedal", {
    ...pedal,
    tS: Float64Array.from(keep, (i) => pedal.tS[i]),
    value: Float64Array.from(keep, (i) => pedal.value[i]),
  })(recording);
};
const drivenFrom = [...clean.v.keys()].find((i) => clean.v[i] > 0.02) as number;
const pressed = (percent: (sinceS: number) => number) =>
  withRole(
    "pedal",
    column("Driver.Pedal", "%", (t) => (t > drivenFrom / 1000 && t < 11 ? percent(t - drivenFrom / 1000) : 0)),
  );
const limit = (newtonMetres: (t: number) => number) => withRole("torqueLimit", column("Motor.Limit", "Nm", newtonMetres));
const climb = (metresPerSecond: number) => epochs(({ tS }) => ({ altM: tS.map((t) => (t > 7 ? metresPerSecond * (t - 7) : 0)) }));
const control = (at: (t: number) => number) => withRole("tractionControlEnabled", column("Esp.Switch", "", at));

describe("flagRun()", () => {
  test("raises nothing on a clean run", () => {
    expect(flagsOf(clean)).toEqual([]);
  });

  test("wheelspin: slip above 10 % for half a second, not for less", () => {
    const flags = flagsOf(generateLaunch({ seed: 21, peakMu: 0.55, control: false, liftAtMps: 20 }));
    expect(only(flags)).toContain("wheelspin");
    expect(flags[0].why).toMatch(/^Slip stood above 10 % for \d+\.\d s, with the wheels up to .* km\/h ahead of the road\.$/);
    expect(only(flagsOf(generateLaunch({ seed: 21, peakMu: 1.05, control: true, liftAtMps: 20 })))).not.toContain("wheelspin");
  });

  type Change = (recording: AlignedRecording) => AlignedRecording;
  test.each<[string, Change, string, string]>([
    [
      "epochs without a speed",
      epochs(({ speedMps }) => ({ speedMps: speedMps.map((v, i) => (i > 85 && i < 88 ? Number.NaN : v)) })),
      "receiver",
      "2 of",
    ],
    ["missing epochs", without(86, 88), "receiver", "epochs were missing for 0.30 s"],
    ["poor geometry", epochs(({ hdop }) => ({ hdop: hdop.map(() => 3.2) })), "receiver", "Receiver: HDOP rose to 3.2."],
    ["few satellites", epochs(({ satellites }) => ({ satellites: satellites.map(() => 5) })), "receiver", "only 5 satellites were used"],
    [
      "an estimated fix",
      epochs(({ fix }) => ({ fix: fix.map((one, i) => (i === 87 ? ("estimated" as const) : one)) })),
      "receiver",
      "estimated its position",
    ],
    [
      "a hole in its stream",
      hole("gnss", 9),
      "receiver",
      "its stream had a hole of 0.30 s (adapter restarted), from 2.4 s after the start",
    ],
    [
      "a hole in the bus stream",
      hole("can", 9),
      "frames",
      "The bus stream had a hole of 0.30 s (adapter restarted), from 2.4 s after the start.",
    ],
    ["frames of one message missing", sparse(8.5, 8.7), "frames", "Frames of Driver.Pedal were missing for 0.2"],
    ["a part pedal", pressed(() => 82), "pedal", "The pedal was not floored: at most 82 %."],
    [
      "an eased pedal",
      pressed((sinceS) => (sinceS > 1.5 && sinceS < 2 ? 70 : 100)),
      "pedal",
      "The pedal was eased to 70 % within the run.",
    ],
    ["a torque limit below what was asked", limit(() => 250), "derated", "Nm below what was asked, for"],
    ["control switched off", control((t) => (t < 9 ? 1 : 0)), "switched", "Traction control was switched off within the run."],
    ["control switched on", control((t) => (t < 9 ? 0 : 1)), "switched", "Traction control was switched on within the run."],
    ["a climb", climb(0.6), "slope", "The road rose by about"],
    ["a descent", climb(-0.6), "slope", "The road fell by about"],
  ])("%s", (_, change, flag, why) => {
    expect(flagsOf(clean, change)).toEqual([{ flag, why: expect.stringContaining(why) }]);
  });

  test.each<[string, Change]>([
    ["one epoch late by half its period", epochs(({ tS }) => ({ tS: tS.map((t, i) => (i === 87 ? t + 0.05 : t)) }))],
    ["geometry as good as it should be", epochs(({ hdop }) => ({ hdop: hdop.map(() => 1.9) }))],
    ["six satellites", epochs(({ satellites }) => ({ satellites: satellites.map(() => 6) }))],
    [
      "holes before the run",
      (recording) => ({ ...recording, gaps: [...hole("can", 1)(recording).gaps, ...hole("gnss", 1)(recording).gaps] }),
    ],
    ["two frames lost", sparse(8.505, 8.525)],
    ["a pedal that its sensor reads as 97 %", pressed(() => 97)],
    ["a torque limit above what is asked", limit(() => 2000)],
    ["a torque limit for less than a tenth of a second", limit((t) => (t > 8.5 && t < 8.56 ? 250 : 2000))],
    ["control switched before the run", control((t) => (t < 3 ? 0 : 1))],
    ["altitude that wanders as receivers' does", climb(0.1)],
  ])("not raised by %s", (_, change) => {
    expect(flagsOf(clean, change)).toEqual([]);
  });

  test("slowReceiver: below 5 Hz, not at 5 Hz", () => {
    const flags = flagsOf(generateLaunch({ seed: 21, rateHz: 4, liftAtMps: 30 }));
    expect(flags.find(({ flag }) => flag === "slowReceiver")?.why).toContain("comparing them is not advised");
    expect(only(flagsOf(generateLaunch({ seed: 21, rateHz: 5, liftAtMps: 30 })))).not.toContain("slowReceiver");
  });

  test("aborted by a mark in the run; interrupted by the recording's end; not by an abort after it", () => {
    expect(only(flagsOf(clean, undefined, [{ tS: 9, kind: "abort", text: "" }]))).toContain("aborted");
    expect(flagsOf(clean, undefined, [{ tS: 20, kind: "abort", text: "" }])).toEqual([]);
    const cut = (recording: AlignedRecording) => without(90, 10_000)({ ...recording, endS: 9.1 });
    expect(flagsOf(clean, cut)).toContainEqual({ flag: "interrupted", why: "The recording ended before the run did." });
  });
});

const grouped = (uid: string, courseDeg: number | null, more: Partial<GroupedRun> = {}): GroupedRun => ({
  uid,
  label: "off",
  use: true,
  day: "2031-05-04",
  courseDeg,
  altitudeChangeM: null,
  measured: {},
  ...more,
});
const names = (flags: Map<string, readonly Flag[]>) => [...flags].map(([uid, list]) => [uid, list.map(({ flag }) => flag).join(" ")]);

describe("flagGroups()", () => {
  test("unpaired: a run without a partner of its group the other way", () => {
    const flags = flagGroups([grouped("a", 74), grouped("b", 254), grouped("c", 73)]);
    expect(names(flags)).toEqual([["c", "unpaired"]]);
    expect(flags.get("c")?.[0]?.why).toContain("towards the east (73°)");
    // Another run went the other way, and has its partner already; where none did, none is spoken of.
    expect(flags.get("c")?.[0]?.why).toContain("no further run of its group the other way that day");
    expect(flagGroups([grouped("a", 74)]).get("a")?.[0]?.why).toContain("no run of its group the other way that day");
    expect(flagGroups([grouped("north", 2), grouped("south", 179)]).size).toBe(0);
    expect(flagGroups([grouped("unknown", null)]).size).toBe(0);
  });

  test("unpaired: neither another group's run, nor one set aside, nor one on another strip is a partner", () => {
    const here = { place: { latDeg: -30, lonDeg: -20 }, lengthM: null, surplusMps2: null };
    const far = { ...here, place: { latDeg: -30.1, lonDeg: -20 } };
    expect(names(flagGroups([grouped("a", 74), grouped("b", 254, { label: "on" })]))).toEqual([
      ["a", "unpaired"],
      ["b", "unpaired"],
    ]);
    expect(names(flagGroups([grouped("a", 74), grouped("b", 254, { use: false })]))).toEqual([["a", "unpaired"]]);
    expect(flagGroups([grouped("a", 74, { slopeSigns: here }), grouped("b", 254, { slopeSigns: here })]).size).toBe(0);
    expect(flagGroups([grouped("a", 74, { slopeSigns: here }), grouped("b", 254, { slopeSigns: far })]).size).toBe(2);
  });

  test("another day's runs are neither a return run nor a measure: wind, air and charge were others", () => {
    const another = { day: "2031-06-04" };
    expect(names(flagGroups([grouped("a", 74), grouped("b", 254, another)]))).toEqual([
      ["a", "unpaired"],
      ["b", "unpaired"],
    ]);
    const warm = (uid: string, courseDeg: number, batteryTemperature: number, more = {}) =>
      grouped(uid, courseDeg, { measured: { batteryTemperature }, ...more });
    const spring = [warm("a", 74, 12), warm("b", 254, 13)];
    expect(flagGroups([...spring, ...["c", "d", "e", "f"].map((uid, i) => warm(uid, i % 2 ? 254 : 74, 35, another))]).size).toBe(0);
  });

  test("charge and temperatures: over 15 points or kelvin from the group's middle, not 14", () => {
    const at = (uid: string, courseDeg: number, stateOfCharge: number | null, batteryTemperature: number | null) =>
      grouped(uid, courseDeg, { measured: { stateOfCharge, batteryTemperature } });
    const flags = flagGroups([
      at("a", 74, 80, 22),
      at("b", 254, 78, 24),
      at("c", 74, 55, 23),
      at("d", 254, 76, 45),
      at("e", 74, null, null),
      at("f", 254, 77, 22),
      at("g", 74, 63, 36),
      at("h", 254, 90, 10),
    ]);
    expect(names(flags)).toEqual([
      ["c", "charge"],
      ["d", "temperature"],
    ]);
    expect(flags.get("c")?.[0]?.why).toBe("Charge was 55 %, the group's middle is 77 %.");
    expect(flags.get("d")?.[0]?.why).toBe("The battery was at 45 °C, the group's middle is 23 °C.");
  });
});
