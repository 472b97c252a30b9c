/**
 * What Wiring hears: every signal while somebody looks there, else those of the set-up alone, as decoding every signal takes time. What
 * driving has shown of a chosen signal is looked at now and then, whoever looks, and kept.
 */
import type { CarFacts } from "../../../shared/signals/check-role.ts";
import type { DbcFile } from "../../../shared/dbc/dbc-model.ts";
import type { CanFormat, Packet } from "../../../shared/pipeline/packet.ts";
import type { RoleChoices } from "../../../shared/setup/set-up.ts";
import { createRoleMemory, type RoleMemory } from "../../../shared/wiring/role-memory.ts";
import { chosenSignals, watchRoles } from "../../../shared/wiring/signal-views.ts";
import { createWiringTap, type WiringTap } from "../../../shared/wiring/wiring-tap.ts";
import type { Clock } from "../../ports/clock.ts";

const ATTENDED_NS = 180e9;
/** A trace is kept for 120 s. */
const WATCH_EVERY_NS = 30e9;

export interface HeardSignals {
  readonly tap: WiringTap;
  readonly memory: RoleMemory;
  /** Other signal files: everything heard before was by the old ones. */
  read(files: readonly DbcFile[]): void;
  /** The signals and the car's facts as they are chosen now. */
  follow(chosen: RoleChoices, facts: CarFacts | null): void;
  /** Somebody looks at Wiring. */
  attend(): void;
  /** `whole`: the set-up is complete, so its own signals are enough where nobody looks. */
  push(packet: Packet, whole: boolean, canFormat: CanFormat): void;
  beat(): void;
}

export function createHeardSignals(clock: Clock): HeardSignals {
  let tap = createWiringTap([]);
  const memory = createRoleMemory();
  let chosen: RoleChoices = {};
  let facts: CarFacts | null = null;
  let names: ReadonlySet<string> = new Set();
  let attendedToNs = clock.monotonicNs() + ATTENDED_NS;
  let watchedNs = clock.monotonicNs();
  return {
    get tap() {
      return tap;
    },
    memory,
    read(files) {
      tap = createWiringTap(files);
    },
    follow(nextChosen, nextFacts) {
      chosen = nextChosen;
      facts = nextFacts;
      names = chosenSignals(chosen);
    },
    attend() {
      attendedToNs = clock.monotonicNs() + ATTENDED_NS;
    },
    push(packet, whole, canFormat) {
      tap.push(packet, whole && packet.arrivalNs >= attendedToNs ? names : null, canFormat);
    },
    beat() {
      const nowNs = clock.monotonicNs();
      if (facts === null || nowNs - watchedNs < WATCH_EVERY_NS) return;
      watchedNs = nowNs;
      watchRoles(tap, chosen, facts, memory);
    },
  };
}
