/**
 * Which flags keep a run out of the advice, and out of which part of it. A person overrules a flag with a note, and the run counts again.
 */
import type { Flag, FlagName } from "../run/run.ts";

/** Data are missing: neither the tyre nor the time can be determined from such a run. */
const BROKEN: readonly FlagName[] = ["receiver", "frames", "interrupted", "slowReceiver"];
/** The tyre was the same, but the car or the control differed from its group's. */
const OTHER: readonly FlagName[] = ["derated", "aborted", "switched"];

const standing = (flags: readonly Flag[], names: readonly FlagName[]) =>
  flags.find(({ flag, overruled }) => overruled === undefined && names.includes(flag)) ?? null;

/** The flag that keeps a run from being used for grip; null where none does. */
export const keepsFromGrip = (flags: readonly Flag[]): Flag | null => standing(flags, BROKEN);

/** The flag that keeps a run from being used for its group. */
export const keepsFromGroup = (flags: readonly Flag[]): Flag | null => standing(flags, [...BROKEN, ...OTHER]);
