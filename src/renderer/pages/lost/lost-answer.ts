/**
 * The answer that Time lost shows, and whether something changed since: what it advises then is of the car as it was. An answer to an older
 * question, or about the runs before a change, is dropped. A failed request rejects, and the answer before stays, called old.
 */
import type { RequestArgument, RunRow } from "../../../shared/contract/contract.ts";
import type { TuneView } from "../../../shared/contract/tune-views.ts";
import type { Frame } from "../../screen/page.ts";

const AGAIN = "Something changed: this is being worked out again.";
const FAILED = "This was not worked out.";

export interface LostAnswer {
  /** null until there is one. */
  view(): TuneView | null;
  /** Why its advice must not be followed now; null where it is about the runs as they are. */
  old(): string | null;
  /** Whether the answer to the last question is none: nothing is being worked out. */
  failed(): boolean;
  /** Asks again; about another gate where one is named. */
  load(gate?: string): Promise<void>;
}

const WORKING = "The runs are read, and car and tyres fitted to them. With hundreds of runs that can take a minute.";
const isSameChoice = (a: readonly string[] | undefined, b: readonly string[]) => JSON.stringify(a ?? []) === JSON.stringify(b);

/** `onNews`: the answer is another one, or none came. */
export function createLostAnswer(frame: Pick<Frame, "bridge" | "runs" | "compared">, onNews: () => void): LostAnswer {
  let gateAsked: string | undefined;
  let asked: RequestArgument<"tune.read"> = {};
  let view: TuneView | null = null;
  /** The runs that it is about. They are read again after every change: other ones mean that it is old. */
  let of: readonly RunRow[] | null = null;
  let failed: readonly RunRow[] | null = null;
  /** The runs chosen on Compare. */
  const whereNow = () => frame.compared.asked.where ?? [];
  const answer: LostAnswer = {
    view: () => view,
    failed: () => failed === frame.runs(),
    old() {
      if (of === frame.runs() && isSameChoice(view?.where, whereNow())) return null;
      return answer.failed() ? FAILED : view === null ? WORKING : AGAIN;
    },
    async load(gate) {
      gateAsked = gate ?? gateAsked;
      failed = null;
      asked = { ...(gateAsked === undefined ? {} : { gate: gateAsked }), where: [...whereNow()] };
      const [question, runs] = [asked, frame.runs()];
      // Another gate was asked for meanwhile, or the runs changed: that answer comes, or has come.
      const isAsked = () => question === asked && runs === frame.runs();
      try {
        const told = await frame.bridge.request("tune.read", question);
        if (!isAsked()) return;
        [view, of] = [told, runs];
      } catch (error) {
        if (isAsked()) failed = runs;
        throw error;
      } finally {
        onNews();
      }
    },
  };
  return answer;
}
