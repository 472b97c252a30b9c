/** A course over ground as people say it. Degrees clockwise from north; never fails. */

const POINTS = ["north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"] as const;

/** "east": the nearest of eight points. */
export const pointOf = (courseDeg: number): string => POINTS[Math.round(courseDeg / 45) % 8] ?? "";

/** "east (74°)": the word that screens use, with its figure. */
export const courseWords = (courseDeg: number): string => `${pointOf(courseDeg)} (${courseDeg.toFixed(0)}°)`;
