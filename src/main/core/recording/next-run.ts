/** The next run: its label, and whether it is armed. Follows the plan where there is one. Never fails. */
import type { LiveEvent } from "../../../shared/contract/contract.ts";
import type { PlanGuide } from "../judging/plan-guide.ts";
import type { LiveRecording } from "./live-recording.ts";

export interface NextRun {
  label(): string;
  armed(): boolean;
  setLabel(text: string): void;
  arm(): void;
  /** Before a launch this disarms. In a launch it ends the run, which is kept and flagged. */
  abort(): void;
  /** The computer slept: a person must arm again. */
  slept(): void;
  /** The next run gets the label that the plan drew for it, unless one label was given for all runs. */
  followPlan(): void;
  /** After a run: arms again until the planned runs are in; after that a person must arm. */
  restAfter(live: LiveEvent, plan: LiveEvent["plan"]): void;
  /** Arms the recording again where it is due in this state. */
  keepArmed(state: LiveEvent["state"]): void;
}

export function createNextRun({
  given,
  alwaysArmed,
  guide,
  recording,
}: {
  /** One label for all runs; empty: the plan's, or a person's. */
  readonly given: string;
  readonly alwaysArmed: boolean;
  readonly guide: PlanGuide;
  readonly recording: () => LiveRecording | null;
}): NextRun {
  let label = given;
  let armed = alwaysArmed;

  function setLabel(text: string): void {
    label = text;
    recording()?.setLabel(text);
  }

  function abort(): void {
    armed = false;
    recording()?.abort();
  }

  return {
    label: () => label,
    armed: () => armed,
    setLabel,
    arm() {
      armed = true;
      recording()?.arm();
    },
    abort,
    slept() {
      armed = alwaysArmed;
    },
    followPlan() {
      const next = guide.refresh();
      if (given === "" && next !== null && next !== label) setLabel(next);
    },
    restAfter(live, plan) {
      if (alwaysArmed || !plan || plan.done < plan.total || live.state === "launched") return;
      abort();
    },
    keepArmed(state) {
      if (armed && (state === "idle" || state === "done" || (alwaysArmed && state === "aborted"))) recording()?.arm();
    },
  };
}
