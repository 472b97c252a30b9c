/** Answers what Compare, Time lost, Plan and Report ask. Each edit gives the request that takes it back. An unsafe plan throws PlanError with the sum. */
import type { RequestArgument, RequestName } from "../../../shared/contract/contract.ts";
import type { Book } from "../../ports/book.ts";
import { runTuneView, tuneView } from "./advise-book.ts";
import { compareView } from "./compare-book.ts";
import { type PlanNow, planChoicesView, planView } from "./plan-view.ts";
import { reportOf } from "./report-of-book.ts";
import { currentPlan, drawPlan, setCurrentPlan, usePlan } from "./test-plan.ts";

type JudgeRequest = Extract<RequestName, "compare.read" | "report.html" | `plan.${string}` | `tune.${string}`>;

export const isJudgeRequest = (name: RequestName): name is JudgeRequest =>
  name === "compare.read" || name === "report.html" || name.startsWith("plan.") || name.startsWith("tune.");

export interface JudgeContext extends PlanNow {
  readonly book: Book;
  readonly softwareVersion: string;
}

export function answerJudge(name: JudgeRequest, given: unknown, { book, softwareVersion, measured, utcUs }: JudgeContext): unknown {
  switch (name) {
    case "compare.read":
      return compareView(book, given as RequestArgument<"compare.read">);
    case "tune.read":
      return tuneView(book, given as RequestArgument<"tune.read">);
    case "tune.run": {
      const { run, gate } = given as RequestArgument<"tune.run">;
      return runTuneView(book, run, gate);
    }
    case "plan.read":
      return planView(book, { measured, utcUs });
    case "plan.choices":
      return planChoicesView(book, given as RequestArgument<"plan.choices">);
    case "plan.draw":
      return drawPlan(book, (given as RequestArgument<"plan.draw">).request);
    case "plan.use": {
      const { before } = usePlan(book, (given as RequestArgument<"plan.use">).request, utcUs);
      return { undo: { name: "plan.current", argument: { plan: before } } };
    }
    case "plan.current": {
      const before = setCurrentPlan(book, (given as RequestArgument<"plan.current">).plan, utcUs);
      return { undo: { name, argument: { plan: before } } };
    }
    case "plan.again": {
      const { run, again } = given as RequestArgument<"plan.again">;
      const plan = currentPlan(book);
      if (plan === null) throw new RangeError("There is no plan whose slot could be driven again");
      book.setAgain(plan.id, run, again, utcUs);
      return { undo: { name, argument: { run, again: !again } } };
    }
    case "report.html":
      return reportOf(book, { ...(given as RequestArgument<"report.html">), softwareVersion, utcUs });
  }
}
