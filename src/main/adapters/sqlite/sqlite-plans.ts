/** Test plans in the book: every one that was put to use, with the runs that filled its slots. An unknown plan throws BookError. */
import type { Database } from "better-sqlite3";
import type { Plan } from "../../../shared/judge/plan.ts";
import { type Book, BookError, type PlannedRun, type StoredPlan } from "../../ports/book.ts";

type PlansPart = Pick<Book, "addPlan" | "plan" | "plannedRuns" | "addPlannedRun" | "setAgain" | "passOver">;

export function createPlansPart(db: Database): PlansPart {
  function plan(id: number): StoredPlan {
    const row = db.prepare("SELECT id, utc_ns / 1000 AS utcUs, after_run AS afterRun, drawn FROM plan WHERE id = ?").get(id) as
      | { id: number; utcUs: number; afterRun: number; drawn: string }
      | undefined;
    if (row === undefined) throw new BookError("notFound", `Plan ${id} is not in this book`);
    const { drawn, ...rest } = row;
    return { ...rest, plan: JSON.parse(drawn) as Plan };
  }

  return {
    addPlan(drawn, utcUs) {
      const { lastInsertRowid } = db
        .prepare("INSERT INTO plan (utc_ns, after_run, drawn) VALUES (?, (SELECT coalesce(max(id), 0) FROM run), ?)")
        .run(BigInt(utcUs) * 1000n, JSON.stringify(drawn));
      return plan(Number(lastInsertRowid));
    },
    plan,
    plannedRuns: (id) =>
      (
        db.prepare("SELECT run, slot, again FROM plan_run WHERE plan = ? ORDER BY run").all(id) as {
          run: number;
          slot: number;
          again: number;
        }[]
      ).map(({ again, ...rest }): PlannedRun => ({ ...rest, again: again === 1 })),
    addPlannedRun(id, run, slot) {
      db.prepare("INSERT INTO plan_run (plan, run, slot) VALUES (?, ?, ?)").run(id, run, slot);
    },
    passOver(id) {
      db.prepare("UPDATE plan SET after_run = (SELECT coalesce(max(id), 0) FROM run) WHERE id = ?").run(id);
    },
    setAgain: db.transaction((id: number, run: number, again: boolean, utcUs: number) => {
      const before = db.prepare("SELECT again FROM plan_run WHERE plan = ? AND run = ?").pluck().get(id, run) as number | undefined;
      if (before === undefined) throw new BookError("notFound", `Run ${run} fills no slot of the plan`);
      db.prepare("INSERT INTO edit (utc_ns, run, what, before, after) VALUES (?, ?, 'drive again', ?, ?)").run(
        BigInt(utcUs) * 1000n,
        run,
        JSON.stringify(before === 1),
        JSON.stringify(again),
      );
      db.prepare("UPDATE plan_run SET again = ? WHERE plan = ? AND run = ?").run(again ? 1 : 0, id, run);
    }),
  };
}
