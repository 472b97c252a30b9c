/**
 * A set-up made while everything runs, on a clock that the test moves: nothing is recorded until it is complete, a reversed or wrong choice
 * is refused, every edit can be undone, and a receiver on the adapter's port is never opened as an adapter (docs/design.md, safety).
 */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { openSqliteBook } from "../../../../src/main/adapters/sqlite/sqlite-book.ts";
import { checkBook } from "../../../../src/main/core/deriving/check-book.ts";
import { gatesOf, ownGates } from "../../../../src/main/core/judging/own-gates.ts";
import type { WiringCore } from "../../../../src/main/core/wiring/wiring-core-parts.ts";
import type { Book } from "../../../../src/main/ports/book.ts";
import type { ByteSource, SourceListener } from "../../../../src/main/ports/byte-source.ts";
import type { HeardPort, SetUpStore } from "../../../../src/main/ports/set-up-desk.ts";
import type { RunView } from "../../../../src/shared/contract/contract.ts";
import type { PlanView } from "../../../../src/shared/contract/judge-views.ts";
import type {
  CarView,
  GatesEdited,
  Refused,
  SetUpEdited,
  SignalView,
  WiringView,
} from "../../../../src/shared/contract/wiring-contract.ts";
import { type DraftSetUp, EMPTY_DRAFT } from "../../../../src/shared/setup/draft-set-up.ts";
import { draftText, parseDraft } from "../../../../src/shared/setup/set-up-text.ts";
import { carSignalFile } from "../../../../src/shared/simulation/car-files.ts";
import type { SimulatedPacket } from "../../../../src/shared/simulation/packets.ts";
import { createFakeClock, type FakeClock, shortDrive } from "../../../support/driven-core.ts";
import { askChecked, createTestedWiringCore } from "../../../support/wiring-core.ts";

const SILENT: HeardPort = { trouble: "silent", words: "no byte came", receiverBaud: null, bytes: 0 };
const NMEA: HeardPort = { trouble: null, words: "NMEA 0183 at 38400 baud", receiverBaud: 38400, bytes: 500 };
const CAR = { name: "Odrel", massKg: 1480, drivenAxle: "rear", gearRatio: 9.04, tyre: "265/35R19" };

const NEEDED = [
  ["motorSpeed", "MotorState.MotorSpeed"],
  ["torqueRequest", "TorquePath.TorqueRequest"],
  ["torqueDelivered", "MotorState.TorqueDelivered"],
  ["pedal", "DriverInputs.PedalPosition"],
] as const;

let folder: string;
let clock: FakeClock;
let book: Book;
let core: WiringCore;
let kept: DraftSetUp;
/** The file as a person wrote it; null where the screens did. */
let byHand: string | null;
let opened: string[];
let listeners: Map<string, SourceListener>;
let onPorts: Record<string, HeardPort>;
let packets: readonly SimulatedPacket[];
let next: number;

const store: SetUpStore = {
  file: "/car/new.json",
  read: () => ({ text: byHand ?? draftText(kept), draft: kept }),
  signalFiles: (names) => names.map((name) => ({ name, text: carSignalFile() })),
  write: (text) => {
    kept = parseDraft(text, "Set-up").draft;
    if (text !== byHand) byHand = null;
  },
  addSignalFile: (name) => name,
};

function sourceOf(stream: "gnss" | "can"): ByteSource {
  return {
    stream,
    canFormat: "slcan",
    start(listener) {
      opened.push(stream);
      listeners.set(stream, listener);
      listener.onReport({ state: "fresh", words: "" });
    },
    stop: async () => void listeners.delete(stream),
  };
}

/** What arrives from now on goes to the listeners; without a listener it is lost. */
function driveFor(seconds: number): void {
  const untilUs = clock.nowUs + seconds * 1e6;
  while (clock.nowUs < untilUs) {
    clock.nowUs += 5000;
    for (let packet = packets[next]; packet !== undefined && packet.arrivalUs <= clock.nowUs; packet = packets[++next])
      listeners.get(packet.stream)?.onBytes(packet.bytes, packet.arrivalUs * 1000);
    core.beat();
  }
}

/** What arrives meanwhile is lost. */
function silentFor(seconds: number): void {
  const listening = new Map(listeners);
  listeners.clear();
  driveFor(seconds);
  for (const [stream, listener] of listening) listeners.set(stream, listener);
}

const ask = async <T>(name: string, argument: unknown = {}) => (await askChecked(core, name, argument)) as T;
const read = () => ask<WiringView>("wiring.read");
const choose = (role: string, signal: string, invert = false, anyway = false) =>
  ask<SetUpEdited | Refused>("wiring.choose", { role, choices: [{ signal, invert }], anyway });

function makeCore(): WiringCore {
  return createTestedWiringCore({
    book,
    clock,
    store,
    ears: { hear: async (path) => onPorts[path] ?? SILENT, list: async () => [], findBitrate: async () => 250_000 },
    makeSources: (sources) => (["gnss", "can"] as const).filter((stream) => sources?.[stream] !== undefined).map(sourceOf),
  });
}

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-wiring-"));
  clock = createFakeClock();
  book = openSqliteBook({ file: join(folder, "day.gripbook"), create: true });
  kept = EMPTY_DRAFT;
  byHand = null;
  opened = [];
  listeners = new Map();
  onPorts = {};
  next = 0;
  ({ packets } = shortDrive([
    { kind: "stand", seconds: 2 },
    { kind: "gentle", seconds: 60 },
  ]));
  core = makeCore();
  core.start();
});
afterEach(async () => {
  await core.close();
  book.close();
  rmSync(folder, { recursive: true });
});

async function upToSignals(): Promise<void> {
  onPorts = { "/dev/receiver": NMEA };
  await ask("wiring.file", { name: "car.dbc", text: carSignalFile() });
  await ask("wiring.source", { stream: "gnss", port: "/dev/receiver", baud: null });
  await ask("wiring.source", { stream: "can", port: "/dev/adapter", baud: null });
  await ask("car.save", { set: CAR });
}

describe("a set-up made on screen", () => {
  test("asks for one thing after the other, finds the baud by listening, and records nothing until it is whole", async () => {
    expect((await read()).missing).toBe("signal file");
    await upToSignals();
    const view = await read();
    expect(view).toMatchObject({ missing: "signals", gnss: { baud: 38400 }, can: { bitrate: 500_000 } });
    driveFor(40);
    expect(book.recordings()).toHaveLength(0);
    await expect(ask("drive.arm")).rejects.toThrow(/Not ready to arm.*signals/);
    for (const [role, signal] of NEEDED) expect(await choose(role, signal), role).toHaveProperty("undo");
    driveFor(5);
    expect(book.recordings()).toHaveLength(1);
    expect((await read()).roles.find(({ role }) => role === "motorSpeed")?.signals[0].check).toMatchObject({
      mark: "tick",
      words: "agrees with ground",
    });
    await expect(ask("drive.arm")).resolves.toEqual({});
  });

  test("suggests by behaviour; refuses a reversed sign whatever is said, and a wrong ratio with the reason; a doubt may be overridden", async () => {
    await upToSignals();
    driveFor(45);
    const found = await ask<SignalView[]>("wiring.search", { role: "motorSpeed", text: "" });
    expect(found[0]).toMatchObject({ signal: "MotorState.MotorSpeed", suggested: { invert: false } });
    expect(found[0].trace.some((value) => value !== null)).toBe(true);
    expect(await ask<SignalView[]>("wiring.search", { role: "pedal", text: "pedal %" })).toHaveLength(1);
    expect(await choose("motorSpeed", "MotorState.MotorSpeed", true, true)).toMatchObject({ reversed: true, mayOverride: false });
    await ask("car.save", { set: { gearRatio: 7.1 } });
    expect(await choose("motorSpeed", "MotorState.MotorSpeed", false, true)).toMatchObject({
      refused: expect.stringContaining("gear ratio 7.1"),
      mayOverride: false,
    });
    expect(kept.signals.motorSpeed).toBeUndefined();
    // The torque limit is a torque as well, but does not follow the driving.
    expect(await choose("torqueRequest", "TorquePath.TorqueLimit")).toMatchObject({ mayOverride: true });
    expect(await choose("torqueRequest", "TorquePath.TorqueLimit", false, true)).toHaveProperty("undo");
  });

  test("an edit opens both ports anew: until they had their time it is said that they are being opened, and then that nothing comes", async () => {
    await upToSignals();
    driveFor(3);
    const opening = async () => {
      const { gnss, can } = await read();
      return [gnss?.opening, can?.opening];
    };
    expect(await opening()).toEqual([false, false]);
    await ask("car.save", { set: { massKg: 1500 } });
    silentFor(4);
    expect(await opening()).toEqual([true, true]);
    driveFor(1);
    // Bytes are here: what they say counts.
    expect(await opening()).toEqual([false, false]);
    await ask("car.save", { set: { massKg: 1480 } });
    silentFor(4);
    expect(await opening()).toEqual([true, true]);
    silentFor(2);
    expect(await opening()).toEqual([false, false]);
    // A port that tells its own trouble is believed at once.
    await ask("car.save", { set: { massKg: 1500 } });
    listeners.get("can")?.onReport({ state: "wrong", words: "CAN adapter on /dev/adapter: no answer" });
    silentFor(4);
    expect(await opening()).toEqual([true, false]);
  });

  test("takes an edit back by the request that it answers with, and that back again", async () => {
    await upToSignals();
    const { undo } = await ask<SetUpEdited>("car.save", { set: { massKg: 1500 } });
    expect(kept.car.massKg).toBe(1500);
    const { undo: redo } = await ask<SetUpEdited>(undo.name, undo.argument);
    expect(kept.car.massKg).toBe(1480);
    await ask(redo.name, redo.argument);
    expect(kept.car.massKg).toBe(1500);
  });

  test("a text written by hand stays to the letter while an edit changes nothing", async () => {
    await upToSignals();
    await core.close();
    byHand = `\n${JSON.stringify(kept, null, 7)}`;
    core = makeCore();
    core.start();
    await ask("car.save", { set: { massKg: 1480 } });
    expect(byHand).not.toBeNull();
    await ask("car.save", { set: { massKg: 1500 } });
    expect(byHand).toBeNull();
  });

  test("a figure or a file that cannot be used is refused by name and changes nothing", async () => {
    await upToSignals();
    await expect(ask("car.save", { set: { massKg: 3 } })).rejects.toThrow(/massKg.*100 to 10000/);
    await expect(ask("wiring.file", { name: "x.dbc", text: "no signals" })).rejects.toThrow(/x\.dbc/);
    expect(kept.car.massKg).toBe(1480);
    expect(kept.database).toEqual(["car.dbc"]);
  });

  test("names a silent port and swapped ports, and never opens a receiver as an adapter", async () => {
    onPorts = { "/dev/b": NMEA };
    await ask("wiring.file", { name: "car.dbc", text: carSignalFile() });
    await ask("wiring.source", { stream: "gnss", port: "/dev/a", baud: null });
    expect((await read()).gnss).toMatchObject({ trouble: "silent" });
    opened = [];
    await ask("wiring.source", { stream: "can", port: "/dev/b", baud: null });
    expect(await read()).toMatchObject({ swapped: true, can: { trouble: "receiverHere" } });
    expect(opened).toEqual(["gnss"]);
    opened = [];
    await ask("wiring.swap");
    expect(kept.sources).toMatchObject({ gnss: { port: "/dev/b", baud: 38400 }, can: { port: "/dev/a" } });
    expect(opened).toEqual(["gnss", "can"]);
    expect((await read()).swapped).toBe(false);
    await expect(ask("wiring.source", { stream: "can", port: "/dev/b", baud: null })).rejects.toThrow(/receiver.s port already/);
  });

  test("a receiver on the network takes the place of a port, is opened at once, holds no port, and is undone", async () => {
    await upToSignals();
    const { undo } = await ask<SetUpEdited>("wiring.other", { source: { tcp: "192.168.1.5:10110" } });
    expect(kept.sources.gnss).toEqual({ tcp: "192.168.1.5:10110" });
    expect(await read()).toMatchObject({
      swapped: false,
      gnss: { port: "TCP 192.168.1.5:10110", other: { tcp: "192.168.1.5:10110" }, baud: null, line: null, trouble: null },
    });
    driveFor(2);
    expect((await read()).gnss?.health.state).toBe("fresh");
    // Nothing is heard on a port for it, and its port is free for the adapter.
    await ask("wiring.check");
    opened = [];
    await ask("wiring.source", { stream: "can", port: "/dev/receiver", baud: null });
    // Sentences were heard there: nothing is written to it, and there are no two ports to swap.
    expect(opened).toEqual(["gnss"]);
    expect((await read()).swapped).toBe(false);
    await expect(ask("wiring.swap")).rejects.toThrow(/Two ports are needed/);
    await expect(ask("wiring.other", { source: { tcp: "nowhere" } })).rejects.toThrow(/expected an address/);
    await expect(ask("wiring.other", { source: { port: "/dev/a" } })).rejects.toThrow(/gpsd/);
    await ask(undo.name, undo.argument);
    expect(kept.sources.gnss).toMatchObject({ port: "/dev/receiver" });
  });

  test("a CAN interface takes the place of the adapter's port: nobody listens on a port for it, and its bit rate is not searched", async () => {
    await upToSignals();
    const { undo } = await ask<SetUpEdited>("wiring.other", { source: { socketcan: "can0" } });
    expect(kept.sources).toMatchObject({ gnss: { port: "/dev/receiver" }, can: { socketcan: "can0" } });
    expect(await read()).toMatchObject({ can: { port: "SocketCAN can0", other: { socketcan: "can0" }, baud: null, bitrate: null } });
    await ask("wiring.check");
    await expect(ask("wiring.bitrate", { driveDisabled: true })).rejects.toThrow(/bit rate of can0 is set by the system/);
    await expect(ask("wiring.swap")).rejects.toThrow(/Two ports are needed/);
    await expect(ask("wiring.other", { source: { socketcan: "can0 --" } })).rejects.toThrow(/expected a CAN interface/);
    await ask(undo.name, undo.argument);
    expect(kept.sources.can).toMatchObject({ port: "/dev/adapter" });
  });

  test("guides a calibration: what to drive next, intervals that shrink, kept as the recording's own and shown with where it is from", async () => {
    ({ packets } = shortDrive([
      { kind: "stand", seconds: 2 },
      { kind: "gentle", seconds: 120 },
    ]));
    await upToSignals();
    driveFor(3);
    await expect(ask("car.calibrate", { step: "begin" })).rejects.toThrow(/Wiring says what is missing/);
    for (const [role, signal] of NEEDED) await choose(role, signal);
    driveFor(2);
    expect(await ask<CarView>("car.calibrate", { step: "begin" })).toMatchObject({
      calibration: { rollingRadiusM: { from: "set-up" } },
      guided: { next: "slow" },
    });
    await expect(ask("car.calibrate", { step: "accept" })).rejects.toThrow(/does not calibrate/);
    driveFor(40);
    const early = (await ask<CarView>("car.read")).guided;
    driveFor(55);
    const late = (await ask<CarView>("car.read")).guided;
    expect(late?.radiusPlusMinus95M).toBeLessThan(early?.radiusPlusMinus95M ?? 0);
    expect(late?.share).toBeGreaterThan(early?.share ?? 1);
    await ask("car.tyres", { tyres: "265/35R19", pressureKpa: 230 });
    const kept = await ask<CarView>("car.calibrate", { step: "accept" });
    expect(kept.guided).toBeNull();
    expect(kept.calibration?.rollingRadiusM.from).toBe("calibrated");
    expect(kept.slipShare).toBeLessThan(0.004);
    expect(kept.stale).toEqual([]);
    expect((await ask<CarView>("car.tyres", { tyres: "255/35R19", pressureKpa: 230 })).stale.join()).toMatch(/Tyres changed/);
    driveFor(1);
    expect(book.recordings()).toHaveLength(2);
  });

  test("a set-up file with its ports swapped is heard before anything is opened: the receiver is never written to", async () => {
    await upToSignals();
    await core.close();
    kept = {
      ...kept,
      sources: {
        gnss: { port: "/dev/adapter", baud: 38400 },
        can: { port: "/dev/receiver", baud: 115200, bitrate: 500_000, adapterClock: true },
      },
    };
    opened = [];
    core = makeCore();
    core.start();
    await ask("wiring.check");
    expect(await read()).toMatchObject({ swapped: true });
    expect(opened).not.toContain("can");
  });

  test("what bytes come over is proposed by the port's name, kept with the port, chosen by hand, and swapped with it", async () => {
    onPorts = { "/dev/ttyACM0": NMEA, "/dev/ttyUSB0": SILENT };
    await ask("wiring.source", { stream: "gnss", port: "/dev/ttyACM0", baud: null });
    await ask("wiring.source", { stream: "can", port: "/dev/ttyUSB0", baud: null });
    expect(await read()).toMatchObject({ gnss: { line: "usb" }, can: { line: "uart" } });
    // A bridge that looks like native USB: a person knows better, and a new baud keeps that choice.
    await ask("wiring.source", { stream: "gnss", port: "/dev/ttyACM0", baud: 9600, line: "uart" });
    await ask("wiring.source", { stream: "gnss", port: "/dev/ttyACM0", baud: null });
    expect(kept.sources.gnss).toMatchObject({ line: "uart" });
    const { undo } = await ask<SetUpEdited>("wiring.source", { stream: "can", port: "/dev/ttyUSB0", baud: null, line: null });
    expect(kept.sources.can).not.toHaveProperty("line");
    onPorts = { "/dev/ttyUSB0": NMEA };
    await ask("wiring.swap");
    expect(kept.sources).toMatchObject({ gnss: { port: "/dev/ttyUSB0" }, can: { port: "/dev/ttyACM0", line: "uart" } });
    expect(kept.sources.gnss).not.toHaveProperty("line");
    await ask(undo.name, undo.argument);
    expect(kept.sources.can).toMatchObject({ port: "/dev/ttyUSB0", line: "uart" });
    await expect(ask("wiring.source", { stream: "can", port: "/dev/ttyUSB0", baud: null, line: "rs232" })).rejects.toThrow(/line/);
  });

  test("a gate of one's own times stored runs at once and is taken back by its undo; nonsense and a cancel change nothing", async () => {
    ({ packets } = shortDrive([
      { kind: "stand", seconds: 2 },
      { kind: "launch", standS: 3, toKmh: 105 },
      { kind: "stand", seconds: 5 },
    ]));
    await upToSignals();
    for (const [role, signal] of NEEDED) await choose(role, signal);
    await ask("drive.arm", { label: "off" });
    driveFor(40);
    expect(book.recordings()).toMatchObject([{ state: "open" }]);
    const add = (name: string, from: string, to: string) => ask<GatesEdited>("gates.add", { name, from, to });
    await expect(add("x", "twenty km/h", "80 km/h")).rejects.toThrow(/Expected From like "20 km\/h".*at most 540 km\/h, 5000 m.*twenty/);
    await expect(add("x", "80 km/h", "20 km/h")).rejects.toThrow(/Expected To above From, or "0 km\/h" for a stop/);
    await expect(add("x", "20 km/h", "100 m")).rejects.toThrow(/A distance is timed from standing/);
    await expect(add("60 ft", "0 km/h", "60 ft")).rejects.toThrow(/standard gate/);
    await expect(add(" ", "0 km/h", "60 ft")).rejects.toThrow(/expected a name/);
    // A typing mistake closes no recording.
    expect(book.recordings()).toMatchObject([{ state: "open" }]);
    const gatesOfRun = async () => (await ask<RunView>("run.show", { run: 1 })).gates;
    const { undo } = await add("20-80 km/h", "20 km/h", "80 km/h");
    await add("25 m", "0 km/h", "25 m");
    await add("50-0 km/h", "50 km/h", "0 km/h");
    const timed = await gatesOfRun();
    // Passed within the standard 0-100 km/h.
    const seconds = timed.find(({ gate }) => gate === "20-80 km/h")?.seconds ?? Number.NaN;
    expect(seconds).toBeGreaterThan(0.5);
    expect(seconds).toBeLessThan(timed.find(({ gate }) => gate === "0-100 km/h")?.seconds ?? 0);
    expect(timed.find(({ gate }) => gate === "25 m")?.exitSpeedKmh).toBeGreaterThan(20);
    expect((await ask<PlanView>("plan.read")).ownGates.map(({ kind }) => kind)).toEqual(["rolling", "distance", "stop"]);
    expect(checkBook(book, gatesOf(book)).faults).toEqual([]);
    const before = ownGates(book);
    const { undo: redo } = await ask<GatesEdited>(undo.name, undo.argument);
    expect(ownGates(book)).toEqual([]);
    expect((await gatesOfRun()).some(({ gate }) => gate === "25 m")).toBe(false);
    expect(redo).toEqual({ name: "gates.own", argument: { gates: before } });
    // Yielding lets the cancel in: a clock that runs makes every step a long one.
    const readings = clock.monotonicNs.bind(clock);
    clock.monotonicNs = () => {
      clock.nowUs += 25_000;
      return readings();
    };
    const cancelled = ask(redo.name, redo.argument);
    const early = setInterval(() => void ask("work.cancel", { work: "gates" }), 1);
    await expect(cancelled).rejects.toThrow(/Cancelled/);
    clearInterval(early);
    expect(ownGates(book)).toEqual([]);
    expect(checkBook(book, gatesOf(book)).faults).toEqual([]);
  });

  test("searches the bit rate only when the drive is confirmed as disabled", async () => {
    await upToSignals();
    await expect(ask("wiring.bitrate", { driveDisabled: false })).rejects.toThrow(/drive to be confirmed/);
    expect(await ask("wiring.bitrate", { driveDisabled: true })).toMatchObject({ bitrate: 250_000 });
    expect(kept.sources.can).toMatchObject({ bitrate: 250_000 });
  });
});
