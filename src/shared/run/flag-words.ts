/** Flags as people read them; the command line takes either form. A flag that is added does not compile until it has its words. */
import type { Flag, FlagName, SlipSummary } from "./run.ts";
import { marked, saidIn, type Units } from "../kernel/shown-units.ts";

const WORDS: Readonly<Record<FlagName, string>> = {
  wheelspin: "wheelspin",
  slope: "slope",
  receiver: "receiver gap",
  frames: "bus gap",
  charge: "charge",
  temperature: "temperature",
  derated: "torque limited",
  unpaired: "no return run",
  aborted: "aborted",
  interrupted: "interrupted",
  pedal: "pedal",
  switched: "control switched",
  slowReceiver: "slow receiver",
  wiring: "wrong wiring",
};

const BY_NAME: ReadonlyMap<string, string> = new Map(Object.entries(WORDS));

export const flagWords = ({ flag }: { readonly flag: string }): string => BY_NAME.get(flag) ?? flag;

/** "wheelspin, slow receiver" */
export const flagList = (flags: readonly { readonly flag: string }[]): string => flags.map(flagWords).join(", ");

/**
 * A flag's sentence in the units of its reader. The peak of a wheelspin comes from the run's own figure, which stands beside the sentence:
 * the one that is said in it was rounded already.
 */
export function flagWhy({ why }: Flag, { peakSlipSpeedKmh: peak }: SlipSummary, units: Units): string {
  const exact = peak === null ? why : why.replace(`${peak.toFixed(1)} km/h`, `${(peak * units.perKmh).toFixed(1)} ${units.speed}`);
  return saidIn(units, marked(exact));
}

/** The flag that was typed, by its name or its words; what is neither stays as it was typed. */
export const typedFlag = (typed: string): string => [...BY_NAME].find(([, words]) => words === typed.trim().toLowerCase())?.[0] ?? typed;
