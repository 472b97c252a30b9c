/** What driving has confirmed of each choice of a signal: it stays confirmed while later driving says nothing, and no longer than it is not refused. Pure state. */
import type { CarFacts, RoleCheck } from "../signals/check-role.ts";
import type { SignalChoice } from "../setup/set-up.ts";

export interface RoleMemory {
  /** The check that counts: `now`, or what was confirmed before where that cannot tell. */
  settle(role: string, choice: SignalChoice, facts: CarFacts, now: RoleCheck): RoleCheck;
}

export function createRoleMemory(): RoleMemory {
  const confirmed = new Map<string, RoleCheck>();
  return {
    settle(role, { signal, invert }, { gearRatio, massKg, rollingRadiusM }, now) {
      const key = JSON.stringify([role, signal, invert, gearRatio, massKg, rollingRadiusM]);
      if (now.verdict === "fits") confirmed.set(key, now);
      else if (now.verdict === "refused") confirmed.delete(key);
      return confirmed.get(key) ?? now;
    },
  };
}
