/** Says when a car moved while nothing was recorded: around a change of the set-up, or while the set-up lacks something. A launch must not vanish without a word. */
import type { Clock } from "../../ports/clock.ts";

const MOVING_MPS = 2;
/** A car that moves so soon after the ports are open again was moving while they were closed. */
const AFTER_NS = 1.5e9;

const CLOSED =
  "The car moved while the set-up was changed: its recording was closed there, and a launch driven then is not timed. Stand still and drive it again.";

export interface MovingWatch {
  /** The ports are about to be closed. */
  closing(speedMps: number | null): void;
  /** They are open again. */
  opened(): void;
  /** `lacks`: what the set-up lacks; null where the car is recorded. */
  beat(speedMps: number | null, lacks: string | null): void;
  /** The car stands ready: what was lost is known by now. */
  ready(): void;
}

export function createMovingWatch(clock: Clock, tell: (text: string | null) => void): MovingWatch {
  let told: string | null = null;
  let watchToNs = Number.NEGATIVE_INFINITY;
  const isMoving = (speedMps: number | null) => speedMps !== null && speedMps > MOVING_MPS;
  const say = (text: string | null) => {
    if (text === told) return;
    told = text;
    tell(text);
  };
  return {
    closing(speedMps) {
      if (isMoving(speedMps)) say(CLOSED);
    },
    opened() {
      watchToNs = clock.monotonicNs() + AFTER_NS;
    },
    beat(speedMps, lacks) {
      if (!isMoving(speedMps)) return;
      if (lacks !== null) say(`The car moves, and nothing is recorded: the set-up has no ${lacks} yet. Wiring says what to do next.`);
      else if (clock.monotonicNs() < watchToNs) say(CLOSED);
    },
    ready: () => say(null),
  };
}
