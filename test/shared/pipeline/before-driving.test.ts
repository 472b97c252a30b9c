/**
 * The list before driving: each line is green on a sound set-up, and open or wrong, with a remedy, where its one thing is missing.
 * Thresholds: docs/design.md and docs/set-up.md.
 */
import { describe, expect, test } from "vitest";
import { beforeDriving, type BeforeInput, CHECK_KEYS, type CheckKey } from "../../../src/shared/pipeline/before-driving.ts";
import { generateLaunch } from "../launch/launch-generator.ts";

const launch = generateLaunch({ seed: 21, liftAtMps: 30 });
const { recording, calibration } = launch;
const setUp = {
  ...launch.setUp,
  signals: {
    motorSpeed: { signal: "Motor.Speed" },
    torqueDelivered: { signal: "Motor.Torque" },
    torqueRequest: { signal: "Motor.Request" },
    pedal: { signal: "Driver.Pedal" },
  },
};
const sound: BeforeInput = {
  setUp: setUp as unknown as BeforeInput["setUp"],
  gnss: { state: "fresh", words: "10 Hz, 3d, 16 satellites" },
  can: { state: "fresh", words: "900 frames/s" },
  drive: { recording, calibration, fittedHere: true },
  calibrationAgeH: null,
  host: { freeBytes: 80e9, power: { share: 0.9, charging: false } },
  antennaConfirmed: true,
};
const line = (key: CheckKey, change: Partial<BeforeInput>) => beforeDriving({ ...sound, ...change }).find((check) => check.key === key);
const withEpochs = (change: object) => ({
  drive: { recording: { ...recording, epochs: { ...recording.epochs, ...change } }, calibration, fittedHere: true },
});
const all = <T>(value: T) => recording.epochs.fix.map(() => value);
const withRole = (role: "motorSpeed" | "torqueDelivered", factor: number) => {
  const column = recording.roles[role];
  const turned = column === undefined ? undefined : { ...column, value: column.value.map((x) => factor * x) };
  return { drive: { recording: { ...recording, roles: { ...recording.roles, [role]: turned } }, calibration, fittedHere: true } };
};

test("all eight are there in order, green on a sound car, each with what was seen", () => {
  const checks = beforeDriving(sound);
  expect(checks.map(({ key }) => key)).toEqual([...CHECK_KEYS]);
  expect(checks.filter(({ state }) => state !== "green")).toEqual([]);
  for (const { words, remedy } of checks) {
    expect(words.length).toBeGreaterThan(3);
    expect(remedy).toBe("");
  }
  expect(checks[0]?.words).toBe("3D fix, 10 Hz, 16 satellites, HDOP 0.8");
});

test("before the first byte nothing is green but what the computer itself knows, and every other line says what to do", () => {
  const quiet = { state: "waiting" as const, words: "waiting for the first byte" };
  const checks = beforeDriving({ ...sound, gnss: quiet, can: quiet, drive: null, antennaConfirmed: false });
  expect(checks.filter(({ state }) => state === "green").map(({ key }) => key)).toEqual(["disk", "battery"]);
  for (const { state, remedy } of checks) if (state !== "green") expect(remedy.length).toBeGreaterThan(10);
});

describe("each line by itself", () => {
  const third = (_: unknown, i: number) => i % 3 === 0;
  const slow = {
    tS: recording.epochs.tS.filter(third),
    speedMps: recording.epochs.speedMps.filter(third),
    fix: recording.epochs.fix.filter(third),
    hdop: recording.epochs.hdop.filter(third),
    satellites: recording.epochs.satellites.filter(third),
  };
  const tenth = (_: unknown, i: number) => i % 10 === 0;
  const once = {
    tS: recording.epochs.tS.filter(tenth),
    speedMps: recording.epochs.speedMps.filter(tenth),
    fix: recording.epochs.fix.filter(tenth),
    hdop: recording.epochs.hdop.filter(tenth),
    satellites: recording.epochs.satellites.filter(tenth),
  };
  test("a receiver as it was delivered: the remedy is its maker's own program, not Gripbook", () => {
    expect(line("fix", withEpochs(once))?.remedy).toMatch(/maker\u2019s own program sets it to 10 Hz.*writes nothing to a receiver/);
  });
  const loose = { ...calibration, rollingRadiusM: { ...calibration.rollingRadiusM, plusMinus95: 0.01 } };
  const unknown = {
    ...calibration,
    gnssDelayS: { ...calibration.gnssDelayS, from: "unknown" as const },
    slipPerNm: { ...calibration.slipPerNm, from: "unknown" as const },
  };
  const drive = { recording, calibration, fittedHere: false };
  const clock = (name: "gnss" | "can", sigmaS: number) => {
    const fit = recording.clocks[name];
    return {
      drive: { ...drive, recording: { ...recording, clocks: { ...recording.clocks, [name]: fit === null ? null : { ...fit, sigmaS } } } },
    };
  };
  test.each<[string, CheckKey, Partial<BeforeInput>, "open" | "wrong", string]>([
    ["no fix", "fix", withEpochs({ fix: all("none") }), "wrong", "no fix"],
    ["3.3 Hz", "fix", withEpochs(slow), "wrong", "3.3 Hz"],
    ["once a second", "fix", withEpochs(once), "wrong", "1.0 Hz"],
    ["five satellites", "fix", withEpochs({ satellites: recording.epochs.satellites.map(() => 5) }), "wrong", "5 satellites"],
    ["poor geometry", "fix", withEpochs({ hdop: recording.epochs.hdop.map(() => 2.4) }), "wrong", "HDOP 2.4"],
    ["receiver silent", "fix", { gnss: { state: "stale", words: "silent for 4 s" } }, "open", "silent for 4 s"],
    ["wrong baud", "bus", { can: { state: "wrong", words: "bytes arrive, none valid" } }, "wrong", "none valid"],
    [
      "a needed signal silent",
      "bus",
      {
        drive: {
          ...drive,
          fittedHere: true,
          recording: { ...recording, roles: { ...recording.roles, pedal: undefined } } as unknown as typeof recording,
        },
      },
      "wrong",
      "nothing of pedal",
    ],
    ["motor speed reversed", "signs", withRole("motorSpeed", -1), "wrong", "motor speed: the sign is reversed"],
    ["torque reversed", "signs", withRole("torqueDelivered", -1), "wrong", "torque delivered: the sign is reversed"],
    ["wrong ratio", "signs", withRole("motorSpeed", 1.2), "wrong", "times ground speed"],
    ["not calibrated", "calibration", { drive: { ...drive, calibration: unknown } }, "wrong", "receiver delay unknown"],
    ["calibration of yesterday", "calibration", { drive, calibrationAgeH: 26 }, "wrong", "26 hours old"],
    ["calibration still loose", "calibration", { drive: { ...drive, calibration: loose, fittedHere: true } }, "wrong", "still loose"],
    ["disk nearly full", "disk", { host: { ...sound.host, freeBytes: 2.1e9 } }, "wrong", "2.1 GB free"],
    ["disk unknown", "disk", { host: { ...sound.host, freeBytes: null } }, "open", "does not say"],
    ["battery low", "battery", { host: { ...sound.host, power: { share: 0.31, charging: false } } }, "wrong", "31 %, on battery"],
    ["no battery known", "battery", { host: { ...sound.host, power: null } }, "open", "no battery information"],
    ["receiver's lines uneven", "clock", clock("gnss", 0.009), "wrong", "receiver ± 17.6 ms"],
    ["bus without stamps, uneven", "clock", clock("can", 0.008), "wrong", "bus ± 15.7 ms"],
    ["nobody looked at the antenna", "antenna", { antennaConfirmed: false }, "open", "nobody looked"],
  ])("%s", (_, key, change, state, words) => {
    expect(line(key, change)).toMatchObject({ state, words: expect.stringContaining(words), remedy: expect.stringMatching(/.{10,}/) });
    // One missing thing changes one line only.
    const others = beforeDriving({ ...sound, ...change }).filter((check) => check.key !== key && check.state === "wrong");
    expect(others.map((check) => check.key).filter((other) => !(key === "clock" && other === "calibration"))).toEqual([]);
  });

  test("a low battery on mains is green, and a calibration of this morning too", () => {
    expect(line("battery", { host: { ...sound.host, power: { share: 0.12, charging: true } } })?.state).toBe("green");
    expect(line("calibration", { drive, calibrationAgeH: 3 })).toMatchObject({
      state: "green",
      words: expect.stringContaining("3 hours old"),
    });
  });
});
