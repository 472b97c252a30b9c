/** What a manoeuvre works with: the car, its controls, its driver. Types only. */
import type { CarModel } from "./car-model.ts";
import type { CarParameters } from "./car-parameters.ts";
import type { Controls } from "./controls.ts";
import type { Driver } from "./driver.ts";
import type { LaunchSegment } from "./plan.ts";
import type { Random } from "./random.ts";
import type { ControlSetting } from "./traction-control.ts";

/** `launchBegins` and `launchEnds` bracket the part that has a truth. */
export interface Cockpit {
  readonly car: CarParameters;
  readonly model: CarModel;
  readonly controls: Controls;
  readonly driver: Driver;
  readonly random: Random;
  /** The car's control as set that day. */
  readonly control: ControlSetting;
  launchBegins(segment: LaunchSegment): void;
  launchEnds(): void;
}

/** Called once a millisecond with the seconds since its start; true when over. */
export type Manoeuvre = (tS: number) => boolean;
