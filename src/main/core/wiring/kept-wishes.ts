/** What a person asked of the core before a change of the set-up: armed, and the next run's label. It is asked again of the core after it; where a plan is in force, its label is the plan's. */
import type { AnswersTo, FixedRequestName, LiveEvent } from "../../../shared/contract/contract.ts";

type Answers = AnswersTo<FixedRequestName>;

export interface KeptWishes {
  /** The core tells how it is: after its last planned run, and after an abort, it rests by itself. */
  heard(live: LiveEvent): void;
  arm(asked: { readonly label?: string | undefined }): void;
  label(asked: { readonly label: string }): void;
  /** Another car. */
  forget(): void;
  askAgain(answers: Pick<Answers, "drive.arm" | "drive.label">): void;
}

export function createKeptWishes(): KeptWishes {
  let [armed, planned, next] = [false, false, ""];
  return {
    heard({ state, plan }) {
      if (state === "idle" || state === "aborted") armed = false;
      planned = plan != null;
    },
    arm({ label }) {
      armed = true;
      next = label ?? next;
    },
    label({ label }) {
      next = label;
    },
    forget() {
      [armed, next] = [false, ""];
    },
    askAgain(answers) {
      if (next !== "" && !planned) void answers["drive.label"]({ label: next });
      if (armed) void answers["drive.arm"]({});
    },
  };
}
