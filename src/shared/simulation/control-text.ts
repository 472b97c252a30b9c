/**
 * The simulated control's setting as typed, "slip=0.11,late=0.02", and as noted with runs. An error throws RangeError: the place, what was
 * expected, what came.
 */
import { checkControl } from "./read-plan.ts";
import { type ControlSetting, DEFAULT_CONTROL } from "./traction-control.ts";

const KEYS = { slip: "slip", every: "everyS", late: "lateS", strength: "strength" } as const;

/** What is left out has its usual value. */
export function controlFrom(text: string): ControlSetting {
  const given: Record<string, number> = {};
  for (const part of text.split(",")) {
    const [name = "", value = "", ...more] = part.split("=").map((piece) => piece.trim());
    const key = Object.hasOwn(KEYS, name) ? KEYS[name as keyof typeof KEYS] : undefined;
    if (key === undefined || value === "" || more.length > 0)
      throw new RangeError(`Expected slip=0.11, every=0.01, late=0.02 or strength=1 with commas between, got ${JSON.stringify(part)}`);
    given[key] = Number(value);
  }
  return { ...DEFAULT_CONTROL, ...checkControl(given, "control") };
}

/** The conditions noted with each run of a car with this setting. */
export function controlNotes({ slip, everyS, lateS, strength }: ControlSetting): Readonly<Record<string, string>> {
  return {
    "control slip": `${Number((100 * slip).toFixed(2))} %`,
    "control delay": `${Math.round(1000 * lateS)} ms`,
    "control looks": `${Math.round(1 / everyS)} a second`,
    "control strength": `${strength}`,
  };
}
