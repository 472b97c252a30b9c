// The set-up file as in docs/design.md: accepted, or refused in one line that names the place and the remedy.
import { describe, expect, test } from "vitest";
import { checkSetUp, SetUpError } from "../../../src/shared/setup/check-set-up.ts";

const good = () => ({
  car: { name: "Odrel", massKg: 1480, drivenAxle: "rear", gearRatio: 9.04, tyre: "265/35R19" } as Record<string, unknown>,
  sources: {
    gnss: { port: "/dev/ttyACM0", baud: 115200 },
    can: { port: "/dev/ttyACM1", baud: 2000000, bitrate: 500000, adapterClock: true },
  } as Record<string, unknown>,
  database: "car.dbc" as unknown,
  signals: {
    motorSpeed: "Motor.Speed",
    torqueRequest: { signal: "Motor.Request", invert: true },
    torqueDelivered: "Motor.Torque",
    pedal: "Driver.Pedal",
    undrivenWheelSpeeds: ["Wheels.FrontLeft", { signal: "Wheels.FrontRight" }],
  } as Record<string, unknown>,
});

function refusal(change: (setUp: ReturnType<typeof good>) => void): string {
  const setUp = good();
  change(setUp);
  try {
    checkSetUp(setUp, "setup.json");
  } catch (error) {
    expect(error).toBeInstanceOf(SetUpError);
    expect((error as Error).message).not.toContain("\n");
    expect((error as Error).message).toMatch(/^setup\.json: /);
    return (error as Error).message;
  }
  throw new Error("Expected the set-up to be refused, it was accepted");
}

describe("checkSetUp()", () => {
  test("accepts the design's file and normalises choices and lists", () => {
    const setUp = checkSetUp(good());
    expect(setUp.database).toEqual(["car.dbc"]);
    expect(setUp.signals.motorSpeed).toEqual({ signal: "Motor.Speed", invert: false });
    expect(setUp.signals.torqueRequest).toEqual({ signal: "Motor.Request", invert: true });
    expect(setUp.signals.undrivenWheelSpeeds).toEqual([
      { signal: "Wheels.FrontLeft", invert: false },
      { signal: "Wheels.FrontRight", invert: false },
    ]);
    expect(Object.keys(setUp.car)).not.toContain("rollingRadiusM");
  });

  test("needs no sources, as for import", () => {
    const { sources: _, ...rest } = good();
    expect(checkSetUp(rest).sources).toEqual({});
  });

  test.each([
    { gpsd: "localhost" },
    { gpsd: "192.168.1.5:2948" },
    { tcp: "192.168.1.5:10110" },
    { tcp: "receiver.local:10110" },
    { tcp: "[fd00::5]:10110" },
    { udp: 10110 },
    { udp: 10110, from: "192.168.1.7" },
  ])("accepts a receiver on the network: %j", (gnss) => {
    expect(checkSetUp({ ...good(), sources: { gnss } }).sources).toEqual({ gnss });
  });

  test.each<[unknown, RegExp]>([
    [{ socketcan: "can0; rm" }, /sources\.can\.socketcan: expected a CAN interface such as "can0" .*, got "can0; rm"/],
    [{ socketcan: "-Lx" }, /sources\.can\.socketcan: expected a CAN interface/],
    [{ socketcan: "a-name-too-long0" }, /sources\.can\.socketcan: expected a CAN interface/],
    [{ socketcan: "../can0" }, /sources\.can\.socketcan: expected a CAN interface/],
    [{ socketcan: "can0 " }, /sources\.can\.socketcan: expected a CAN interface/],
    [{ socketcan: "can0", bitrate: 500000 }, /unknown key "bitrate" in sources\.can/],
    [{ port: "/dev/a", baud: 9600 }, /sources\.can\.bitrate is missing/],
  ])("refuses a CAN interface that is none: %j", (can, words) => {
    expect(refusal((setUp) => Object.assign(setUp, { sources: { can } }))).toMatch(words);
    expect(checkSetUp({ ...good(), sources: { can: { socketcan: "vcan-0.1" } } }).sources).toEqual({ can: { socketcan: "vcan-0.1" } });
  });

  test.each<[unknown, RegExp]>([
    [{ tcp: "192.168.1.5" }, /sources\.gnss\.tcp: expected an address and its port such as "192\.168\.1\.5:10110", got "192\.168\.1\.5"/],
    [{ tcp: "192.168.1.5:70000" }, /sources\.gnss\.tcp: expected an address/],
    [{ tcp: "http://receiver:10110/" }, /sources\.gnss\.tcp: expected an address/],
    [{ tcp: "-oProxy=x:1" }, /sources\.gnss\.tcp: expected an address/],
    [{ gpsd: "" }, /sources\.gnss\.gpsd: expected gpsd's address such as "localhost" or "192\.168\.1\.5:2947", got ""/],
    [{ gpsd: "localhost", udp: 1 }, /unknown key "udp" in sources\.gnss/],
    [{ tcp: 10110 }, /sources\.gnss\.tcp: expected an address.*got 10110/],
    [{ tcp: "a:1", baud: 9600 }, /unknown key "baud" in sources\.gnss/],
    [{ udp: 0 }, /sources\.gnss\.udp: expected a UDP port from 1 to 65535, got 0/],
    [{ udp: "10110" }, /sources\.gnss\.udp: expected a UDP port, got "10110"/],
    [{ udp: 10110, from: "phone" }, /sources\.gnss\.from: expected the sender's IPv4 address such as "192\.168\.1\.7", got "phone"/],
    [{ baud: 9600 }, /sources\.gnss\.port is missing/],
    [{ prot: "/dev/a" }, /sources\.gnss\.port is missing|unknown key "prot"/],
    [[], /sources\.gnss/],
    [null, /sources\.gnss/],
  ])("refuses a receiver on the network that is none: %j", (gnss, words) => {
    expect(refusal((setUp) => Object.assign(setUp, { sources: { gnss } }))).toMatch(words);
  });

  test.each<[string, (setUp: ReturnType<typeof good>) => void, RegExp]>([
    [
      "an unknown key by name",
      (s) => {
        s.car.weight = 3;
      },
      /unknown key "weight" in car/,
    ],
    [
      "an unknown role by name",
      (s) => {
        s.signals.motorSped = "A.B";
      },
      /unknown key "motorSped" in signals/,
    ],
    [
      "an unknown key inside a choice",
      (s) => {
        s.signals.pedal = { signal: "A.B", inverted: true };
      },
      /signals\.pedal|inverted/,
    ],
    [
      "two driven axles",
      (s) => {
        s.car.drivenAxle = "both";
      },
      /car\.drivenAxle: two driven axles are not supported yet/,
    ],
    [
      "a list of axles",
      (s) => {
        s.car.drivenAxle = ["rear", "front"];
      },
      /car\.drivenAxle: two driven axles/,
    ],
    [
      "an odd axle",
      (s) => {
        s.car.drivenAxle = "middle";
      },
      /car\.drivenAxle: expected "rear" or "front", got "middle"/,
    ],
    [
      "neither tyre nor radius",
      (s) => {
        delete s.car.tyre;
      },
      /car needs "tyre".*or "rollingRadiusM"/,
    ],
    [
      "a tyre that is none",
      (s) => {
        s.car.tyre = "wide";
      },
      /car\.tyre: expected a tyre size like "265\/35R19", got "wide"/,
    ],
    [
      "a radius in mm",
      (s) => {
        s.car.rollingRadiusM = 324;
      },
      /car\.rollingRadiusM: expected a rolling radius in m from 0\.1 to 1, got 324/,
    ],
    [
      "a text for a mass",
      (s) => {
        s.car.massKg = "1480";
      },
      /car\.massKg: expected a mass in kg, got "1480"/,
    ],
    [
      "no mass",
      (s) => {
        delete s.car.massKg;
      },
      /car\.massKg is missing: add it/,
    ],
    [
      "a negative ratio",
      (s) => {
        s.car.gearRatio = -9;
      },
      /car\.gearRatio: .* got -9/,
    ],
    [
      "a missing role",
      (s) => {
        delete s.signals.pedal;
      },
      /signals\.pedal is missing/,
    ],
    [
      "a signal without its message",
      (s) => {
        s.signals.pedal = "Pedal";
      },
      /signals\.pedal: expected "Message\.Signal"/,
    ],
    [
      "one signal for two wheels",
      (s) => {
        s.signals.undrivenWheelSpeeds = ["A.B", "A.B"];
      },
      /names A\.B twice/,
    ],
    [
      "a wheel both driven and not",
      (s) => {
        s.signals.drivenWheelSpeeds = ["Wheels.FrontLeft"];
      },
      /Wheels\.FrontLeft is named as driven and as undriven/,
    ],
    [
      "an empty list",
      (s) => {
        s.signals.drivenWheelSpeeds = [];
      },
      /signals\.drivenWheelSpeeds: expected at least one/,
    ],
    [
      "one name where a list belongs",
      (s) => {
        (s.signals as Record<string, unknown>).drivenWheelSpeeds = "Wheels.RearLeft";
      },
      /signals\.drivenWheelSpeeds: expected a list of signals .* got "Wheels\.RearLeft"/,
    ],
    [
      "a list where one signal belongs",
      (s) => {
        (s.signals as Record<string, unknown>).motorSpeed = ["Motor.Speed"];
      },
      /signals\.motorSpeed: expected one signal, got a list/,
    ],
    [
      "a bit rate no adapter sets",
      (s) => {
        (s.sources.can as Record<string, unknown>).bitrate = 333000;
      },
      /sources\.can\.bitrate: expected one of .* got 333000/,
    ],
    [
      "no database",
      (s) => {
        s.database = [];
      },
      /database: expected at least one signal file/,
    ],
    [
      "a missing section",
      (s) => {
        (s as Record<string, unknown>).signals = undefined;
      },
      /signals is missing/,
    ],
  ])("refuses %s", (_, change, message) => {
    expect(refusal(change)).toMatch(message);
  });

  test.each([[null], [42], ["text"], [[]]])("refuses %j as a whole", (json) => {
    expect(() => checkSetUp(json)).toThrow(SetUpError);
  });
});
