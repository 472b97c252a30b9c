/** Which flags keep a run out of what to change next, and from what. A person overrules a flag with a note, and the run counts again. */
import type { Flag, FlagName } from "../run/run.ts";

/** Holes in what was measured: neither the tyre nor the time can be told from such a run. */
const BROKEN: readonly FlagName[] = ["receiver", "frames", "interrupted", "slowReceiver"];
/** The tyre was the same, but the car or the control was not as its group's. */
const OTHER: readonly FlagName[] = ["derated", "aborted", "switched"];

const standing = (flags: readonly Flag[], names: readonly FlagName[]) =>
  flags.find(({ flag, overruled }) => overruled === undefined && names.includes(flag)) ?? null;

/** The flag that keeps a run from showing the tyre; null where none does. */
export const keepsFromGrip = (flags: readonly Flag[]): Flag | null => standing(flags, BROKEN);

/** The flag that keeps it from standing for its group. */
export const keepsFromGroup = (flags: readonly Flag[]): Flag | null => standing(flags, [...BROKEN, ...OTHER]);
