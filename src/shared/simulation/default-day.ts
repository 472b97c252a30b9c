/**
 * The demo day: gentle driving, six launches with and six without traction control in an order drawn with the seed, six decoys between
 * them. Never fails.
 */
import { type DayPlan, DEFAULT_BUS, DEFAULT_LAUNCH, DEFAULT_RECEIVER, DEFAULT_START_UNIX_S, type DecoyName, type Segment } from "./plan.ts";
import { createRandom, type Random } from "./random.ts";
import { DEFAULT_CONTROL } from "./traction-control.ts";

const LABEL_OFF = "traction control off";
const LABEL_ON = "traction control on";
const DECOYS: readonly DecoyName[] = ["falseStart", "creep", "push", "reverse", "spin", "driveBack"];

function shuffle<T>(items: T[], random: Random): T[] {
  for (let i = items.length - 1; i > 0; i -= 1) {
    const j = Math.floor(random.next() * (i + 1));
    [items[i], items[j]] = [items[j] as T, items[i] as T];
  }
  return items;
}

/** A launch towards the other end of the runway, then on to that end and a turn: the next launch goes the other way. */
export function launchAndTurn(tractionControl: boolean, random: Random): Segment[] {
  return [
    {
      ...DEFAULT_LAUNCH,
      label: tractionControl ? LABEL_ON : LABEL_OFF,
      tractionControl,
      rampS: random.between(0.14, 0.28),
      standS: random.between(6, 8),
    },
    { kind: "drive", metres: random.between(280, 360), kmh: random.between(48, 62) },
    { kind: "turn" },
    { kind: "drive", metres: random.between(25, 45), kmh: 14 },
  ];
}

/** The plan of the demo day for one seed, about twenty minutes. */
export function defaultDayPlan(seed: number): DayPlan {
  const random = createRandom(seed, "plan");
  const settings = shuffle([...Array<boolean>(6).fill(true), ...Array<boolean>(6).fill(false)], random);
  const decoys = shuffle([...DECOYS], random);
  const segments: Segment[] = [
    { kind: "stand", seconds: 4 },
    { kind: "gentle", seconds: 120 },
  ];
  settings.forEach((on, i) => {
    segments.push(...launchAndTurn(on, random));
    const what = i % 2 === 0 ? decoys[i / 2] : undefined;
    if (what !== undefined) segments.push({ kind: "decoy", what });
  });
  segments.push({ kind: "stand", seconds: 5 });
  return {
    startUnixS: DEFAULT_START_UNIX_S,
    wallOffsetS: 0.15 * random.normal(),
    hostPpm: 8 * random.normal(),
    charge: 0.93,
    stalls: [],
    car: {},
    control: DEFAULT_CONTROL,
    receiver: { ...DEFAULT_RECEIVER, delayS: random.between(0.05, 0.075) },
    bus: { ...DEFAULT_BUS, driftPpm: random.between(-60, 60) },
    segments,
  };
}
