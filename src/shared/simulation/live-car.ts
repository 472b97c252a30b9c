/**
 * An endless simulated car, the app's default source: ready to launch at once, with gentle driving between launches. Deterministic; never
 * fails.
 */
import { drawCar } from "./car-parameters.ts";
import { defaultDayPlan, launchAndTurn } from "./default-day.ts";
import { createDrive } from "./drive.ts";
import type { SimulatedPacket } from "./packets.ts";
import type { Segment } from "./plan.ts";
import { createRandom } from "./random.ts";
import { type ControlSetting, DEFAULT_CONTROL } from "./traction-control.ts";

export interface LiveCar {
  /** Packets that arrived since the last call, up to `toUs` host microseconds since the start; bytes and stamps depend only on the seed. */
  advance(toUs: number): SimulatedPacket[];
  /** The host's wall clock at the start, as the car's receiver sees it. */
  readonly startUnixS: number;
}

/**
 * Launch (control off and on in turn), brake, drive on and turn; a minute of gentle driving after the first launch, less after later ones.
 */
function* script(seed: number): Generator<Segment, void, undefined> {
  const random = createRandom(seed, "live");
  for (let i = 0; ; i += 1) {
    yield* launchAndTurn(i % 2 === 1, random);
    if (i === 0) yield { kind: "gentle", seconds: 75 };
    else if (i % 4 === 0) yield { kind: "gentle", seconds: 40 };
  }
}

/**
 * `seed` gives car and receiver, `driveSeed` the driving and its noise: two drives of one car differ in their bytes. `startUnixS`: whole
 * seconds, so that the receiver's dates are today's; the demo day's start where left out.
 */
export function createLiveCar({
  seed,
  driveSeed = seed,
  startUnixS,
  control = DEFAULT_CONTROL,
}: {
  seed: number;
  driveSeed?: number;
  startUnixS?: number;
  control?: ControlSetting;
}): LiveCar {
  const { segments: _, ...day } = defaultDayPlan(seed);
  const plan = { ...day, car: drawCar(createRandom(seed, "car")), startUnixS: startUnixS ?? day.startUnixS, control };
  const drive = createDrive({ seed: driveSeed, plan, segments: script(driveSeed), onLaunch: () => undefined });
  return {
    startUnixS: plan.startUnixS,
    advance(toUs) {
      while (drive.nowUs() < toUs) drive.step();
      return drive.take();
    },
  };
}
