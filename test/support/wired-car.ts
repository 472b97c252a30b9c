/** A car of one's own on a moved clock, wired on screen up to its needed signals: what arrives is a simulated drive, and what nobody hears is lost. */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { openSqliteBook } from "../../src/main/adapters/sqlite/sqlite-book.ts";
import type { WiringCore } from "../../src/main/core/wiring/wiring-core-parts.ts";
import type { Book } from "../../src/main/ports/book.ts";
import type { SourceListener } from "../../src/main/ports/byte-source.ts";
import type { Answers, CoreEvent, RequestName } from "../../src/shared/contract/contract.ts";
import { type DraftSetUp, EMPTY_DRAFT } from "../../src/shared/setup/draft-set-up.ts";
import { draftText, parseDraft } from "../../src/shared/setup/set-up-text.ts";
import { carSignalFile } from "../../src/shared/simulation/car-files.ts";
import { createFakeClock, type FakeClock, shortDrive } from "./driven-core.ts";
import { askChecked, createTestedWiringCore } from "./wiring-core.ts";

const CAR = { name: "Odrel", massKg: 1480, drivenAxle: "rear", gearRatio: 9.04, tyre: "265/35R19" };
const NEEDED = {
  motorSpeed: "MotorState.MotorSpeed",
  torqueRequest: "TorquePath.TorqueRequest",
  torqueDelivered: "MotorState.TorqueDelivered",
  pedal: "DriverInputs.PedalPosition",
} as const;

export interface WiredCar {
  readonly core: WiringCore;
  readonly book: Book;
  readonly clock: FakeClock;
  readonly events: CoreEvent[];
  ask<N extends RequestName>(name: N, argument?: unknown): Promise<Answers[N]>;
  /** The drive goes on for so long. */
  driveFor(seconds: number): void;
  end(): Promise<void>;
}

/** `drive`: its parts, as the simulator takes them. */
export async function wireCar(drive: Parameters<typeof shortDrive>[0]): Promise<WiredCar> {
  const folder = mkdtempSync(join(tmpdir(), "gripbook-wired-"));
  const clock = createFakeClock();
  const book = openSqliteBook({ file: join(folder, "day.gripbook"), create: true });
  const { packets } = shortDrive(drive);
  const listeners = new Map<string, SourceListener>();
  const events: CoreEvent[] = [];
  let kept: DraftSetUp = EMPTY_DRAFT;
  let next = 0;
  const store = {
    file: "/car/new.json",
    read: () => ({ text: draftText(kept), draft: kept }),
    signalFiles: (names: readonly string[]) => names.map((name) => ({ name, text: carSignalFile() })),
    write(text: string) {
      kept = parseDraft(text, "Set-up").draft;
    },
    addSignalFile: (name: string) => name,
  };
  const core = createTestedWiringCore({
    book,
    clock,
    store,
    emit: (event) => events.push(event),
    ears: {
      hear: async (path) =>
        path === "/dev/receiver"
          ? { trouble: null, words: "NMEA 0183 at 38400 baud", receiverBaud: 38400, bytes: 500 }
          : { trouble: "silent", words: "no byte came", receiverBaud: null, bytes: 0 },
      list: async () => [],
      findBitrate: async () => 500_000,
    },
    makeSources: (sources) =>
      (["gnss", "can"] as const)
        .filter((stream) => sources?.[stream] !== undefined)
        .map((stream) => ({
          stream,
          canFormat: "slcan" as const,
          start(listener) {
            listeners.set(stream, listener);
            listener.onReport({ state: "fresh", words: "" });
          },
          stop: async () => void listeners.delete(stream),
        })),
  });
  core.start();
  const ask = async <N extends RequestName>(name: N, argument: unknown = {}) => (await askChecked(core, name, argument)) as Answers[N];
  await ask("wiring.file", { name: "car.dbc", text: carSignalFile() });
  await ask("wiring.source", { stream: "gnss", port: "/dev/receiver", baud: null });
  await ask("wiring.source", { stream: "can", port: "/dev/adapter", baud: null });
  await ask("car.save", { set: CAR });
  for (const [role, signal] of Object.entries(NEEDED))
    await ask("wiring.choose", { role, choices: [{ signal, invert: false }], anyway: false });
  return {
    core,
    book,
    clock,
    events,
    ask,
    driveFor(seconds) {
      const untilUs = clock.nowUs + seconds * 1e6;
      while (clock.nowUs < untilUs) {
        clock.nowUs += 20_000;
        for (let packet = packets[next]; packet !== undefined && packet.arrivalUs <= clock.nowUs; packet = packets[++next])
          listeners.get(packet.stream)?.onBytes(packet.bytes, packet.arrivalUs * 1000);
        core.beat();
      }
    },
    async end() {
      await core.close();
      book.close();
      rmSync(folder, { recursive: true });
    },
  };
}
