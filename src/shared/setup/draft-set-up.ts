/** A set-up that is still being made: any part may be missing, nothing in it may be wrong. */
import { REQUIRED_ROLES } from "./roles.ts";
import type { CarSetUp, SetUp } from "./set-up.ts";

export interface DraftSetUp {
  /** Kept where a person wrote it, for editors. */
  readonly $schema?: string;
  readonly car: Partial<CarSetUp>;
  readonly sources: SetUp["sources"];
  readonly database: readonly string[];
  readonly signals: SetUp["signals"];
}

export const EMPTY_DRAFT: DraftSetUp = { car: {}, sources: {}, database: [], signals: {} };

/** What the car part still lacks for measuring slip, in words; empty when nothing is missing. */
export function missingOfCar({ car }: DraftSetUp): string[] {
  const missing: string[] = [];
  if (car.name === undefined) missing.push("a name");
  if (car.gearRatio === undefined) missing.push("gear ratio");
  if (car.drivenAxle === undefined) missing.push("driven axle");
  if (car.tyre === undefined && car.rollingRadiusM === undefined) missing.push("tyre size or rolling radius");
  if (car.massKg === undefined) missing.push("mass");
  return missing;
}

/** The draft as a set-up where nothing is missing; null otherwise. */
export const wholeOf = (draft: DraftSetUp): SetUp | null => (missingOf(draft) === null ? (draft as SetUp) : null);

/** The first thing that is missing, in the order in which it is asked for; null when the set-up can be used. */
export function missingOf(draft: DraftSetUp): "signal file" | "receiver" | "adapter" | "car" | "signals" | null {
  if (draft.database.length === 0) return "signal file";
  if (draft.sources.gnss === undefined) return "receiver";
  if (draft.sources.can === undefined) return "adapter";
  // Before the signals: motor speed is checked against ground speed, which needs ratio and radius.
  if (missingOfCar(draft).length > 0) return "car";
  if (REQUIRED_ROLES.some((role) => draft.signals[role] === undefined)) return "signals";
  return null;
}
