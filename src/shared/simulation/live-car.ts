/** An endless simulated car for the app's default source: ready to launch at once, launches for ever, gentle driving between. Deterministic; never fails. */
import { drawCar } from "./car-parameters.ts";
import { defaultDayPlan, launchAndTurn } from "./default-day.ts";
import { createDrive } from "./drive.ts";
import type { SimulatedPacket } from "./packets.ts";
import type { Segment } from "./plan.ts";
import { createRandom } from "./random.ts";
import { type ControlSetting, DEFAULT_CONTROL } from "./traction-control.ts";

export interface LiveCar {
  /** Packets that arrived since the last call, up to `toUs` host microseconds since the start; bytes and stamps depend on the seed alone. */
  advance(toUs: number): SimulatedPacket[];
  /** Host's wall clock at the start that the car's receiver believes in. */
  readonly startUnixS: number;
}

/** Launch (control off and on in turn), brake, drive on and turn; a minute of gentle driving after the first, shorter ones later. */
function* script(seed: number): Generator<Segment, void, undefined> {
  const random = createRandom(seed, "live");
  for (let i = 0; ; i += 1) {
    yield* launchAndTurn(i % 2 === 1, random);
    if (i === 0) yield { kind: "gentle", seconds: 75 };
    else if (i % 4 === 0) yield { kind: "gentle", seconds: 40 };
  }
}

/**
 * `seed` gives car and receiver, `driveSeed` what is driven and its noise: two drives of one car are not the same to the byte. `startUnixS`: whole
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
