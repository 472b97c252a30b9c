/** A core driven by the simulated car on a clock that the test moves: hours pass in seconds, and every byte goes the real way. */
import { openSqliteBook } from "../../src/main/adapters/sqlite/sqlite-book.ts";
import { type Core, createCore } from "../../src/main/core/core.ts";
import { gatesOf } from "../../src/main/core/judging/own-gates.ts";
import { type ReadySetUp, readSetUp } from "../../src/main/core/basics/read-set-up.ts";
import type { Book } from "../../src/main/ports/book.ts";
import type { ByteSource, SourceListener } from "../../src/main/ports/byte-source.ts";
import type { Clock } from "../../src/main/ports/clock.ts";
import type { CoreEvent } from "../../src/shared/contract/contract.ts";
import { carSetUp, carSignalFile } from "../../src/shared/simulation/car-files.ts";
import type { SimulatedPacket } from "../../src/shared/simulation/packets.ts";
import { readPlan } from "../../src/shared/simulation/read-plan.ts";
import { type DayTruth, simulateDay } from "../../src/shared/simulation/simulate-day.ts";

const BEAT_US = 5000;
const START_UTC_US = 1_935_655_200_400_000;

export interface FakeClock extends Clock {
  nowUs: number;
  sleptS: number;
}

export function createFakeClock(): FakeClock {
  return {
    nowUs: 0,
    sleptS: 0,
    monotonicNs() {
      return this.nowUs * 1000;
    },
    utcUs() {
      return START_UTC_US + this.nowUs + this.sleptS * 1e6;
    },
    uptimeS() {
      return this.nowUs / 1e6 + this.sleptS;
    },
  };
}

function simulatedSetUp(): ReadySetUp {
  const text = JSON.stringify(carSetUp({ frontWheelSensors: true, rearWheelSensors: true, stamps: true }));
  return readSetUp({ text, signalFiles: [{ name: "car.dbc", text: carSignalFile() }] }, "Set-up of the test");
}

export function shortDrive(segments: readonly object[], seed = 3): { packets: SimulatedPacket[]; truth: DayTruth } {
  const day = simulateDay({ seed, plan: readPlan({ segments }, seed) });
  const packets = [...day.packets];
  return { packets, truth: day.truth() };
}

export interface DrivenCore {
  readonly core: Core;
  readonly book: Book;
  readonly clock: FakeClock;
  readonly events: CoreEvent[];
  readonly listeners: Record<"gnss" | "can", SourceListener>;
  /** Hands over what arrives until then (microseconds of the drive), beating all the while; `deaf` streams hear nothing. */
  driveTo(us: number, deaf?: readonly string[]): void;
  /** Lets go of packets already handed over: for drives of hours. */
  forget(): void;
}

export function driveCore(options: {
  file: string;
  packets: SimulatedPacket[];
  alwaysArmed?: boolean;
  label?: string;
  alsoNoted?: Readonly<Record<string, string>>;
  clock?: FakeClock;
}): DrivenCore {
  const clock = options.clock ?? createFakeClock();
  const startUs = clock.nowUs;
  const book = openSqliteBook({ file: options.file, create: true });
  const events: CoreEvent[] = [];
  const listeners = {} as Record<"gnss" | "can", SourceListener>;
  const sources = (["gnss", "can"] as const).map(
    (stream): ByteSource => ({
      stream,
      canFormat: "slcan",
      start(listener) {
        listeners[stream] = listener;
        listener.onReport({ state: "fresh", words: "" });
      },
      stop: async () => undefined,
    }),
  );
  const core = createCore({
    book,
    clock,
    ready: simulatedSetUp(),
    sources,
    origin: "live",
    gates: gatesOf(book),
    setUpFile: null,
    listPorts: async () => [],
    emit: (event) => events.push(event),
    alwaysArmed: options.alwaysArmed ?? false,
    label: options.label ?? "",
    alsoNoted: options.alsoNoted ?? {},
    softwareVersion: "0.1.0",
  });
  core.start();
  let next = 0;
  return {
    core,
    book,
    clock,
    events,
    listeners,
    driveTo(us, deaf = []) {
      for (let nowUs = clock.nowUs - startUs; nowUs < us; nowUs += BEAT_US) {
        for (let packet = options.packets[next]; packet !== undefined && packet.arrivalUs <= nowUs; packet = options.packets[++next]) {
          if (!deaf.includes(packet.stream)) listeners[packet.stream].onBytes(packet.bytes, (startUs + packet.arrivalUs) * 1000);
        }
        clock.nowUs = startUs + nowUs;
        core.beat();
      }
    },
    forget() {
      options.packets.splice(0, next);
      next = 0;
    },
  };
}
