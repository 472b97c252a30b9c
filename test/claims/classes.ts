/** The classes of drives that the claims are made for, each with the figures it is held to. */
import type { DriveClass } from "../support/second-car/recipe.ts";

export interface ClaimClass {
  readonly name: string;
  readonly kind: DriveClass;
  /** "first": the project's simulated car, through its bytes; "second": the independent generator. */
  readonly car: "first" | "second";
  /** Most RMS error of the 0-60 mph time, s, or a multiple of the bound; null: shown, not promised. */
  readonly sixty: { readonly mostS: number } | { readonly boundTimes: number } | null;
  /** Most RMS of slip error / (1 + slip), or null. */
  readonly slip: number | null;
  /** Most RMS of the receiver delay, s, or null where calibration has too little to work with. */
  readonly delayS: number | null;
}

const all = { mostS: 0.003 };
const fewer = { boundTimes: 1.3 };
const withUndriven = { slip: 0.001, delayS: 0.002 };
const without = { slip: 0.004, delayS: 0.005 };
const bare = { slip: null, delayS: null };
const receiverAlone: DriveClass = { undriven: false, torque: false, motorSpeed: false };

// A bound is valid only for launches of the family it is computed for. The same sources on the design's stated family must keep it; on cars
// whose shafts twist, wheels spin and limiters cut torque, only coverage is promised and the multiple is shown. Promised figures are for 10
// Hz, 0.03 m/s, 100 Hz; for noisier and slower classes only coverage is promised.
const family = { family: true, surface: "dry" } as const;

const SECOND: readonly Omit<ClaimClass, "car">[] = [
  { name: "all sources, dry, control on", kind: { surface: "dry", control: true, correlated: false }, sixty: all, ...withUndriven },
  { name: "all sources, dry, control off", kind: { surface: "dry", control: false, correlated: false }, sixty: all, ...withUndriven },
  { name: "all sources, wet, control on", kind: { surface: "wet", control: true, correlated: false }, sixty: all, ...withUndriven },
  { name: "all sources, wet, control off", kind: { surface: "wet", control: false, correlated: false }, sixty: all, ...withUndriven },
  { name: "all sources, correlated noise", kind: { correlated: true }, sixty: all, ...withUndriven },
  { name: "all sources, ramp 0.1 s", kind: { rampS: 0.1, correlated: false }, sixty: all, ...withUndriven },
  { name: "all sources, ramp 0.6 s", kind: { rampS: 0.6, correlated: false }, sixty: all, ...withUndriven },
  { name: "no undriven wheels", kind: { undriven: false, correlated: false }, sixty: null, ...without },
  { name: "no undriven wheels, correlated", kind: { undriven: false, correlated: true }, sixty: null, ...without },
  { name: "receiver and torque", kind: { undriven: false, motorSpeed: false, correlated: false }, sixty: null, ...bare },
  { name: "receiver and undriven wheels", kind: { torque: false, motorSpeed: false, correlated: false }, sixty: null, ...bare },
  { name: "receiver alone", kind: { ...receiverAlone, correlated: false }, sixty: null, ...bare },
  { name: "receiver alone, correlated", kind: { ...receiverAlone, correlated: true }, sixty: null, ...bare },
  { name: "receiver alone, held at rest", kind: { ...receiverAlone, hold: true }, sixty: null, ...bare },
  { name: "stated family, no undriven wheels", kind: { ...family, undriven: false, correlated: false }, sixty: fewer, ...without },
  {
    name: "stated family, no undriven wheels, correlated",
    kind: { ...family, undriven: false, correlated: true },
    sixty: fewer,
    ...without,
  },
  {
    name: "stated family, receiver and torque",
    kind: { ...family, undriven: false, motorSpeed: false, correlated: false },
    sixty: fewer,
    ...bare,
  },
  {
    name: "stated family, receiver and undriven wheels",
    kind: { ...family, torque: false, motorSpeed: false, correlated: false },
    sixty: fewer,
    ...bare,
  },
  { name: "stated family, receiver alone", kind: { ...family, ...receiverAlone, correlated: false }, sixty: fewer, ...bare },
  { name: "stated family, receiver alone, correlated", kind: { ...family, ...receiverAlone, correlated: true }, sixty: fewer, ...bare },
  { name: "stated family, receiver alone, held at rest", kind: { ...family, ...receiverAlone, hold: true }, sixty: fewer, ...bare },
  { name: "5 Hz", kind: { rateHz: 5 }, sixty: null, slip: null, delayS: null },
  { name: "20 Hz", kind: { rateHz: 20 }, sixty: null, slip: null, delayS: null },
  { name: "noise 0.02 m/s", kind: { noiseMps: 0.02 }, sixty: null, slip: null, delayS: null },
  { name: "noise 0.10 m/s", kind: { noiseMps: 0.1 }, sixty: null, slip: null, delayS: null },
  { name: "bus without stamps", kind: { stamps: false }, sixty: null, slip: null, delayS: null },
];

const FIRST: readonly Omit<ClaimClass, "car">[] = [
  { name: "all sources, dry", kind: { surface: "dry", correlated: false }, sixty: all, ...withUndriven },
  { name: "all sources, wet", kind: { surface: "wet", correlated: false }, sixty: all, ...withUndriven },
  { name: "all sources, correlated noise", kind: { correlated: true }, sixty: all, ...withUndriven },
  { name: "no undriven wheels", kind: { undriven: false, correlated: false }, sixty: null, ...without },
  { name: "no undriven wheels, correlated", kind: { undriven: false, correlated: true }, sixty: null, ...without },
  { name: "receiver alone", kind: { ...receiverAlone }, sixty: null, ...bare },
  { name: "5 Hz", kind: { rateHz: 5 }, sixty: null, slip: null, delayS: null },
  { name: "noise 0.10 m/s", kind: { noiseMps: 0.1 }, sixty: null, slip: null, delayS: null },
];

export const CLASSES: readonly ClaimClass[] = [
  ...SECOND.map((c) => ({ ...c, car: "second" as const, name: `second car: ${c.name}` })),
  ...FIRST.map((c) => ({ ...c, car: "first" as const, name: `simulated car: ${c.name}` })),
];
