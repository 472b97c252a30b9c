/**
 * Answers the requests of Compare, Time lost, Plan and Report. Each edit returns the request that reverses it. An unsafe plan throws
 * PlanError with the calculation.
 */
import type { AnswersTo, RequestName } from "../../../shared/contract/contract.ts";
import type { Book } from "../../ports/book.ts";
import type { Works } from "../basics/works.ts";
import type { Tuning } from "../../ports/tuning.ts";
import { compareView } from "./compare-book.ts";
import { type PlanNow, planChoicesView, planView } from "./plan-view.ts";
import { responseView } from "./response-book.ts";
import { reportOf } from "./report-of-book.ts";
import { currentPlan, drawPlan, setCurrentPlan, usePlan } from "./test-plan.ts";

type JudgeRequest = Extract<RequestName, "compare.read" | "response.read" | "report.html" | `plan.${string}` | `tune.${string}`>;

export interface Judging {
  readonly book: Book;
  readonly softwareVersion: string;
  readonly now: () => PlanNow;
  /** Called after every change of the present plan. */
  readonly planned: () => void;
  readonly tuning: Tuning;
  readonly works: Works;
}

export const judgeAnswers = ({ book, softwareVersion, now, planned, tuning, works }: Judging): AnswersTo<JudgeRequest> => ({
  "compare.read": (asked) => compareView(book, asked),
  "response.read": (asked) => responseView(book, asked),
  "tune.read": (asked) => works.share("lost", (listening) => tuning.read(asked, listening)),
  "tune.run": (asked) => tuning.run(asked),
  "tune.spin": (asked) => tuning.spin(asked),
  "plan.read": () => planView(book, now()),
  "plan.choices": (asked) => planChoicesView(book, asked),
  "plan.draw": ({ request }) => drawPlan(book, request),
  "plan.use"({ request }) {
    const { before } = usePlan(book, request, now().utcUs);
    planned();
    return { undo: { name: "plan.current", argument: { plan: before } } };
  },
  "plan.current"({ plan }) {
    const before = setCurrentPlan(book, plan, now().utcUs);
    planned();
    return { undo: { name: "plan.current", argument: { plan: before } } };
  },
  "plan.again"({ run, again }) {
    const plan = currentPlan(book);
    if (plan === null) throw new RangeError("There is no plan whose slot could be driven again");
    book.setAgain(plan.id, run, again, now().utcUs);
    planned();
    return { undo: { name: "plan.again", argument: { run, again: !again } } };
  },
  "report.html": (asked) => reportOf(book, { ...asked, softwareVersion, utcUs: now().utcUs }, tuning),
});
