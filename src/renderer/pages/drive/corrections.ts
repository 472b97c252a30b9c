/** Times that were announced during a launch, and the words that correct them where they turn out otherwise: after the launch, once each. */
import type { LiveEvent, RunRow } from "../../../shared/contract/contract.ts";
import { gateName, number } from "../../screen/format.ts";
import { HERO_DIGITS, lastPassed } from "./drive-view.ts";

const HEADLINE = "0-60 mph";

export interface Corrections {
  /** Takes the event that came, and the one before; answers what is to be corrected now, a gate each. */
  follow(before: LiveEvent | null, now: LiveEvent): readonly string[];
  /** A run was stored, or stored anew. `isLaunch`: it is the launch just driven. */
  stored(run: RunRow, isLaunch: boolean): readonly string[];
}

export function createCorrections(): Corrections {
  /** Text as it was told, by gate; of the launch last seen. */
  const told = new Map<string, string>();
  /** The run that this launch became; null until it is stored. */
  let storedAs: number | null = null;

  /** "0–60 mph is 4.42 s, not 4.66"; null where it is as it was told. */
  function changed(gate: string, seconds: number | null): string | null {
    const before = told.get(gate);
    const now = seconds === null ? "" : number(seconds, HERO_DIGITS);
    if (before === undefined || before === now) return null;
    told.set(gate, now);
    if (now === "") return `${gateName(gate)} was not reached; ${before} s was wrong`;
    return before === "" ? `${gateName(gate)} was reached: ${now} s` : `${gateName(gate)} is ${now} s, not ${before}`;
  }

  return {
    follow(before, now) {
      if (now.state === "launched") {
        if (before?.state !== "launched") {
          told.clear();
          storedAs = null;
        }
        const gate = lastPassed(now);
        if (gate !== undefined && !told.has(gate.gate)) told.set(gate.gate, number(gate.seconds, HERO_DIGITS));
        return [];
      }
      return now.gates.flatMap(({ gate, seconds }) => changed(gate, seconds) ?? []);
    },
    stored(run, isLaunch) {
      if (isLaunch) storedAs = run.id;
      const change = storedAs === run.id ? changed(HEADLINE, run.seconds) : null;
      return change === null ? [] : [change];
    },
  };
}
