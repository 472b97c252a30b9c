/**
 * The first sentence of Wiring and Car. Which problem comes first follows the design and the order of the first day; no published source.
 */
import { describe, expect, test } from "vitest";
import { CAR_FIELDS, carRefusal, carSentence, fieldText, fieldValue, fromWords } from "../../src/renderer/pages/car/car-words.ts";
import { findingOf, ROLE_ORDER, ROLE_TITLES } from "../../src/renderer/pages/wiring/wiring-words.ts";
import { ROLE_NAMES } from "../../src/shared/wiring/signal-views.ts";
import { checkDraft } from "../../src/shared/setup/check-set-up.ts";
import type { CarView, CheckView, RoleName, RoleView, SourceView, WiringView } from "../../src/shared/contract/wiring-contract.ts";

const source = (over: Partial<SourceView> = {}): SourceView => ({
  port: "/dev/a",
  other: null,
  baud: 9600,
  bitrate: null,
  line: null,
  health: { state: "fresh", words: "10 Hz" },
  onceASecond: false,
  opening: false,
  trouble: null,
  words: "",
  rightBaud: null,
  ...over,
});
const quiet = { state: "waiting", words: "no bytes yet" } as const;
const check = (over: Partial<CheckView> = {}): CheckView => ({ mark: "tick", words: "agrees", why: "it is so", reversed: false, ...over });
const role = (name: RoleName, checked: CheckView | null): RoleView => ({
  role: name,
  needed: true,
  list: false,
  signals:
    checked === null
      ? []
      : [
          {
            signal: "A.B",
            unit: "",
            value: 1,
            label: null,
            silentS: 0,
            min: 0,
            max: 1,
            trace: [],
            suggested: null,
            invert: false,
            check: checked,
          },
        ],
});
const USEFUL = (
  ["pedal", "undrivenWheelSpeeds", "drivenWheelSpeeds", "tractionControlEnabled", "tractionControlActive", "stateOfCharge"] as const
).map((name) => ({ ...role(name, check()), needed: name === "pedal" }));
const view = (over: Partial<WiringView> = {}): WiringView => ({
  file: "new.json",
  simulated: false,
  missing: null,
  carMissing: [],
  signalFiles: [{ name: "car.dbc", signals: 3 }],
  gnss: source(),
  can: source({ bitrate: 500_000 }),
  swapped: false,
  groundSpeedMps: 3,
  roles: [role("motorSpeed", check()), role("pedal", check())],
  ...over,
});

test("a CAN interface is spoken of without ports, baud and a search of its bit rate", () => {
  const said = (over: Partial<SourceView>) =>
    findingOf(view({ can: source({ port: "SocketCAN can0", other: { socketcan: "can0" }, baud: null, ...over }) }));
  expect(said({ health: { state: "absent", words: "CAN adapter: interface can0 is down" } })).toMatchObject({
    sentence: "The CAN interface cannot be read.",
    remedy: "adapter",
  });
  expect(said({ health: quiet })).toMatchObject({ sentence: "The bus is silent.", remedy: "check" });
  expect(said({ health: quiet, opening: true }).sentence).toBe("The CAN interface is being opened.");
});

test("a receiver on the network is spoken of without ports and baud", () => {
  const network = { port: "TCP 10.0.0.2:1", other: { tcp: "10.0.0.2:1" }, baud: null } as const;
  const said = (over: Partial<SourceView>) => {
    const { sentence, second, remedy, button } = findingOf(view({ gnss: source({ ...network, ...over }) }));
    return `${sentence} ${second} [${button}: ${remedy}]`;
  };
  const states = ["wrong", "absent", "stale", "waiting"] as const;
  const all = [
    ...states.map((state) => said({ health: { state, words: "Receiver: nothing answers at TCP 10.0.0.2:1" } })),
    said({ health: quiet, opening: true }),
  ];
  for (const words of all) expect(words).not.toMatch(/\bport\b|baud/);
  expect(all[1]).toMatch(/^The receiver is not reached\. .* \[Choose the receiver: ports\]$/);
  expect(said({ health: { state: "wrong", words: "it talks, but has no fix yet" } })).toMatch(/has no fix yet/);
});

describe("findingOf()", () => {
  test.each([
    ["an empty set-up", view({ missing: "signal file", gnss: null, can: null, roles: [] }), /signal file/, "file"],
    ["no receiver", view({ missing: "receiver", gnss: null, can: null }), /Where is the receiver/, "ports"],
    ["a silent port", view({ gnss: source({ trouble: "silent", health: quiet }) }), /port is silent/, "ports"],
    ["a wrong baud", view({ gnss: source({ trouble: "wrongBaud", rightBaud: 38400, health: quiet }) }), /baud is wrong/, "baud"],
    ["garbage", view({ gnss: source({ trouble: "garbage", health: quiet }) }), /make no sense/, "ports"],
    [
      "swapped ports",
      view({ swapped: true, gnss: source({ trouble: "silent", health: quiet }), can: source({ trouble: "receiverHere", health: quiet }) }),
      /swapped/,
      "swap",
    ],
    [
      "a receiver on the adapter's port",
      view({ can: source({ trouble: "receiverHere", health: quiet }) }),
      /receiver is on the adapter/,
      "adapter",
    ],
    [
      "an adapter's port that was just opened",
      view({ can: source({ bitrate: 500_000, health: quiet, opening: true }) }),
      /adapter\u2019s port is being opened/,
      "look",
    ],
    [
      "a receiver's port that was just opened",
      view({ gnss: source({ health: quiet, opening: true }) }),
      /receiver\u2019s port is being opened/,
      "look",
    ],
    [
      "what listening found, though the port was just opened",
      view({ can: source({ trouble: "receiverHere", health: quiet, opening: true }) }),
      /receiver is on the adapter/,
      "adapter",
    ],
    ["a silent bus", view({ can: source({ bitrate: 500_000, health: quiet }) }), /bus is silent/, "bitrate"],
    ["no car", view({ missing: "car", carMissing: ["mass", "gear ratio"] }), /car is not known/, "car"],
    [
      "a reversed motor",
      view({ roles: [role("motorSpeed", check({ mark: "triangle", reversed: true }))] }),
      /Motor speed is reversed/,
      "invert",
    ],
    ["a wrong ratio", view({ roles: [role("motorSpeed", check({ mark: "triangle" }))] }), /Motor speed disagrees/, "pick"],
    ["no signal", view({ missing: "signals", roles: [role("pedal", null)] }), /Pedal has no signal/, "pick"],
    ["nothing driven", view({ roles: [role("pedal", check({ mark: "dots" }))] }), /short drive/, "before"],
    [
      "useful signals left out",
      view({ roles: [...USEFUL.slice(1), { ...role("undrivenWheelSpeeds", null), needed: false }] }),
      /every needed signal agrees/,
      "before",
    ],
    ["nothing wrong", view({ roles: USEFUL }), /every signal agrees/, "before"],
  ] as const)("names %s and its remedy", (_, given, words, remedy) => {
    const finding = findingOf(given);
    expect(finding.sentence).toMatch(words);
    expect(finding.remedy).toBe(remedy);
    expect(finding.second).not.toBe("");
  });

  test("says both bauds where the baud is wrong, and lists what the car lacks", () => {
    expect(findingOf(view({ gnss: source({ trouble: "wrongBaud", rightBaud: 38400, health: quiet }) })).second).toBe(
      "/dev/a talks at 38400 baud, the set-up says 9600.",
    );
    expect(findingOf(view({ missing: "car", carMissing: ["a name", "mass", "gear ratio"] })).second).toMatch(/a name, mass and gear ratio/);
  });

  test("has a title for every role", () => {
    expect([...ROLE_ORDER].sort()).toEqual([...ROLE_NAMES].sort());
    expect(new Set(Object.values(ROLE_TITLES)).size).toBe(ROLE_ORDER.length);
  });
});

describe("the Car screen's words", () => {
  const figure = (value: number, plusMinus95: number, from: "calibrated" | "set-up") => ({ value, plusMinus95, from });
  const car = (over: Partial<CarView> = {}): CarView => ({
    draft: { name: "Odrel", massKg: 1480, frontWeightShare: 0.445, tyre: "265/35R19" },
    missing: [],
    simulated: false,
    calibration: {
      id: 3,
      fittedHere: false,
      rollingRadiusM: figure(0.324, 0.0013, "calibrated"),
      gnssDelayS: figure(0.06, 0.004, "calibrated"),
      slipPerNm: figure(1e-4, 1e-5, "calibrated"),
      notes: [],
      recordedAt: null,
      tyres: { tyres: null, pressureKpa: null },
    },
    slipShare: 0.004,
    stale: [],
    tyres: { tyres: null, pressureKpa: null },
    guided: null,
    ...over,
  });
  const field = (key: string) => {
    const found = CAR_FIELDS.find((each) => each.key === key);
    if (found === undefined) throw new Error(`no field ${key}`);
    return found;
  };

  test("carSentence() says how well slip is known, what is missing, and what has changed", () => {
    expect(carSentence(car()).sentence).toBe("Odrel is known well enough to measure slip to 0.4\u00a0%.");
    expect(carSentence(car({ missing: ["mass", "gear ratio"] })).second).toBe("Missing: mass and gear ratio.");
    expect(carSentence(car({ stale: ["Tyres changed."] })).second).toBe("Tyres changed.");
    expect(carSentence(car()).second).toBe("Calibration 3, tyres not noted.");
    const { calibration } = car();
    const noted = { recordedAt: "2031-05-04T10:02:11Z", tyres: { tyres: "265/35R19, new", pressureKpa: 240 }, notes: ["Too gentle."] };
    expect(carSentence(car({ calibration: calibration && { ...calibration, ...noted } })).second).toMatch(
      /^Calibration 3, driven 4 May at \d\d:02, on 265\/35R19, new, 240\u00a0kPa\. Too gentle\.$/,
    );
  });

  test("fieldValue() reads what fieldText() wrote, a share as per cent, a comma as a point; words where it is no number", () => {
    expect(fieldText(field("frontWeightShare"), 0.445)).toBe("44.5");
    expect(fieldValue(field("frontWeightShare"), "44,5")).toEqual({ value: 0.445 });
    expect(fieldValue(field("massKg"), " ")).toEqual({ value: null });
    expect(fieldValue(field("massKg"), "heavy")).toEqual({ wrong: "Mass, people in: expected a number, got heavy" });
    expect(fieldValue(field("name"), " Odrel ")).toEqual({ value: "Odrel" });
  });

  test.each([
    ["frontWeightShare", -0.03, "Weight in front: expected a number from 10 to 90 %, got -3"],
    ["gearRatio", 1e99, "Gear ratio: expected a number from 0.5 to 50, got 1e+99"],
    ["rollingRadiusM", 9.04, "Or rolling radius: expected a number from 0.1 to 1 m, got 9.04"],
    ["tyre", "round", 'Tyre size: expected a tyre size like "265/35R19", got "round"'],
  ])("carRefusal() speaks of the field %s in its own unit, not of the set-up file", (key, value, words) => {
    const refused = () => {
      try {
        checkDraft({ car: { [key]: value } }, "Set-up /home/a/car.json");
      } catch (error) {
        return (error as Error).message;
      }
      throw new Error("expected it to be refused");
    };
    expect(carRefusal(refused())).toEqual({ words, key });
    expect(carRefusal("The book is closed")).toEqual({ words: "The book is closed", key: null });
  });

  test("fromWords() never calls a measured radius exact", () => {
    const { calibration } = car();
    const sharp = calibration && { ...calibration, rollingRadiusM: { value: 0.32491, plusMinus95: 0.00003, from: "calibrated" as const } };
    expect(fromWords(field("rollingRadiusM"), car({ calibration: sharp }))).toBe("0.32491 \u00b1 0.00003 m, calibrated");
  });

  test("fromWords() names the source of each figure", () => {
    expect(fromWords(field("rollingRadiusM"), car())).toBe("0.3240 \u00b1 0.0013 m, calibrated");
    expect(fromWords(field("massKg"), car())).toBe("set-up");
    expect(fromWords(field("dragAreaM2"), car())).toBe("unknown");
    expect(fromWords(field("gearRatio"), car())).toBe("unknown: needed");
  });
});
