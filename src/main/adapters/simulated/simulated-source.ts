/** The simulated car as two byte sources in real time; its bytes are handled like those of a serial port. Never fails. */
import { US_PER_S } from "../../../shared/kernel/units.ts";
import { createLiveCar } from "../../../shared/simulation/live-car.ts";
import type { ControlSetting } from "../../../shared/simulation/traction-control.ts";
import type { Stream } from "../../ports/book.ts";
import type { ByteSource, SourceListener } from "../../ports/byte-source.ts";
import type { Clock } from "../../ports/clock.ts";

const STEP_MS = 5;

export interface SimulatedSourceOptions {
  readonly clock: Clock;
  /** Seeds of the car and of the drive. */
  readonly seed: number;
  readonly driveSeed: number;
  /** The setting of its control. */
  readonly control: ControlSetting;
}

export function createSimulatedSources({ clock, seed, driveSeed, control }: SimulatedSourceOptions): ByteSource[] {
  const listeners = new Map<Stream, SourceListener>();
  let timer: ReturnType<typeof setInterval> | undefined;

  function run(): void {
    const startUnixS = Math.floor(clock.utcUs() / US_PER_S);
    const car = createLiveCar({ seed, driveSeed, startUnixS, control });
    // The car's day begins at a whole second of the wall clock, just before now.
    const startNs = clock.monotonicNs() - (clock.utcUs() - startUnixS * US_PER_S) * 1e3;
    timer = setInterval(() => {
      for (const packet of car.advance((clock.monotonicNs() - startNs) / 1e3)) {
        listeners.get(packet.stream)?.onBytes(packet.bytes, startNs + packet.arrivalUs * 1e3);
      }
    }, STEP_MS);
  }

  return (["gnss", "can"] as const).map((stream) => ({
    stream,
    canFormat: "slcan" as const,
    start(listener: SourceListener) {
      listeners.set(stream, listener);
      listener.onReport({ state: "fresh", words: "" });
      if (listeners.size === 2) run();
    },
    async stop() {
      listeners.delete(stream);
      clearInterval(timer);
    },
  }));
}
