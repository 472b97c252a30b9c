/**
 * What is drawn of noticing spin: a fixed limit on wheel acceleration swept, each surface by itself, and a control that looks more or less often,
 * simulated. Points over named places, one line a series. What is not known leaves its point out.
 */
import type { LookingRate } from "../tune/looking-rates.ts";
import type { LimitPoint } from "../tune/notice.ts";

interface PointLine {
  readonly name: string;
  /** A value a place, null unknown. */
  readonly values: readonly (number | null)[];
  /** Discs, or rings. */
  readonly solid: boolean;
}

export interface PointChart {
  /** For readers who do not see it, and over saved pictures. */
  readonly title: string;
  readonly places: readonly string[];
  readonly placesUnit: string;
  readonly unit: string;
  readonly lines: readonly PointLine[];
}

const surfaceName = (surface: string | null) => surface ?? "surface not noted";

/** Share of spins that each limit misses, by surface: the limit that serves dry is not the one that serves wet (common practice, no source). */
export function missedChart(limits: readonly LimitPoint[]): PointChart | null {
  return byLimit(limits, "Spins missed by a fixed limit on wheel acceleration", "%", ({ spins, missed }) =>
    spins === 0 ? null : (100 * missed) / spins,
  );
}

/** How long after slip passes the spin's level each limit notices it, by surface. */
export function noticedChart(limits: readonly LimitPoint[]): PointChart | null {
  return byLimit(
    limits,
    "Spin noticed by a fixed limit on wheel acceleration, after",
    "s",
    ({ noticedAfterS }) => noticedAfterS?.value ?? null,
  );
}

/** False alarms a minute of driving without spin; the same for every surface. */
export function alarmsChart(limits: readonly LimitPoint[]): PointChart | null {
  const places = placesOf(limits);
  const values = places.map((threshold) => limits.find((one) => one.threshold === threshold)?.falseAlarmsPerMinute ?? null);
  if (values.every((value) => value === null)) return null;
  return {
    title: "False alarms a minute, by that limit",
    places: places.map(String),
    placesUnit: "m/s\u00b2",
    unit: "",
    lines: [{ name: "all driving without spin", values, solid: true }],
  };
}

/** Seconds to the gate of a control that looks so often: a simulation. */
export function looksChart(looks: readonly LookingRate[], gate: string): PointChart | null {
  if (looks.every(({ seconds }) => seconds === null)) return null;
  return {
    title: `Simulation: ${gate} with a control that looks so many times a second`,
    places: looks.map(({ perSecond }) => String(perSecond)),
    placesUnit: "looks a second",
    unit: "s",
    lines: [{ name: "simulated", values: looks.map(({ seconds }) => seconds), solid: false }],
  };
}

const placesOf = (limits: readonly LimitPoint[]) => [...new Set(limits.map(({ threshold }) => threshold))].sort((a, b) => a - b);

function byLimit(
  limits: readonly LimitPoint[],
  title: string,
  unit: string,
  pick: (point: LimitPoint) => number | null,
): PointChart | null {
  const places = placesOf(limits);
  const surfaces = [...new Set(limits.map(({ surface }) => surface))];
  const lines = surfaces.map((surface, i) => ({
    name: surfaceName(surface),
    solid: i % 2 === 0,
    values: places.map((threshold) => {
      const point = limits.find((one) => one.threshold === threshold && one.surface === surface);
      return point === undefined ? null : pick(point);
    }),
  }));
  if (lines.every(({ values }) => values.every((value) => value === null))) return null;
  return { title, places: places.map(String), placesUnit: "m/s\u00b2", unit, lines };
}

/** Ends of its axis of values: from 0 where that leaves the lines half of the height, else around them, but not below 0 where no value is. */
export function pointEnds({ lines }: PointChart): { least: number; most: number } {
  const known = lines.flatMap(({ values }) => values.filter((value) => value !== null));
  const [low, high] = [Math.min(...known), Math.max(...known)];
  if (low >= 0 && low < 0.5 * high) return { least: 0, most: 1.1 * high };
  const room = Math.max(0.15 * (high - low), 0.02 * Math.abs(high), 0.01);
  return { least: low < 0 ? low - room : Math.max(0, low - room), most: high + room };
}

/** The chart in words. */
export const pointWords = ({ title, placesUnit, places, lines, unit }: PointChart): string =>
  `${title}. ${lines
    .map(
      ({ name, values }) =>
        `${name}: ${values.flatMap((value, i) => (value === null ? [] : [`${places[i]} ${placesUnit} ${Number(value.toFixed(2))} ${unit}`.trim()])).join(", ")}`,
    )
    .join("; ")}.`;
