/** The units of this screen. Text reaches the page through dom.ts, which puts the core's sentences into them. */
import { KMH_AND_M, saidIn, type Units, type UnitsName, unitsNamed } from "../../shared/kernel/shown-units.ts";

let now: Units = KMH_AND_M;

export const units = (): Units => now;

export const said = (sentence: string): string => saidIn(now, sentence);

/** What is on the page already stays as it was written: the pages are made anew after a change. */
export function useUnits(name: UnitsName): void {
  now = unitsNamed(name) ?? KMH_AND_M;
}
