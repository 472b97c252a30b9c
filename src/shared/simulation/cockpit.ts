/** What a manoeuvre can use: the car, its controls, its driver. Types only. */
import type { CarModel } from "./car-model.ts";
import type { CarParameters } from "./car-parameters.ts";
import type { Controls } from "./controls.ts";
import type { Driver } from "./driver.ts";
import type { LaunchSegment } from "./plan.ts";
import type { Random } from "./random.ts";
import type { ControlSetting } from "./traction-control.ts";

/** `launchBegins` and `launchEnds` mark the part for which true times are kept. */
export interface Cockpit {
  readonly car: CarParameters;
  readonly model: CarModel;
  readonly controls: Controls;
  readonly driver: Driver;
  readonly random: Random;
  /** The setting of the car's control on that day. */
  readonly control: ControlSetting;
  launchBegins(segment: LaunchSegment): void;
  launchEnds(): void;
}

/** Called once a millisecond with the seconds since the manoeuvre began; returns true when it is over. */
export type Manoeuvre = (tS: number) => boolean;
