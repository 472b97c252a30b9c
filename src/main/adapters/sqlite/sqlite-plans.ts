/** Test plans in the book: every one that was used, with the runs that filled its slots. An unknown plan throws BookError. */
import type { Database } from "better-sqlite3";
import type { Plan } from "../../../shared/judge/plan.ts";
import type { KeepEdit } from "./sqlite-settings.ts";
import { readableRows } from "./lost-pages.ts";
import type { Seals } from "./sqlite-seals.ts";
import { type Book, BookError, type PlannedRun, type StoredPlan } from "../../ports/book.ts";

type PlansPart = Pick<Book, "addPlan" | "plan" | "plans" | "plannedRuns" | "plannedBy" | "addPlannedRun" | "setAgain" | "passOver">;

export function createPlansPart(db: Database, file: string, seals: Seals, keepEdit: KeepEdit): PlansPart {
  function plan(id: number): StoredPlan {
    const row = db.prepare("SELECT id, utc_ns / 1000 AS utcUs, after_run AS afterRun, drawn FROM plan WHERE id = ?").get(id) as
      | { id: number; utcUs: number; afterRun: number; drawn: string }
      | undefined;
    if (row === undefined) throw new BookError("notFound", `Plan ${id} is not in this book`);
    const { drawn, ...rest } = row;
    if (!seals.isWhole("plan", id))
      throw new BookError("damaged", `Book ${file}: plan ${id} is damaged; draw a new one, or choose "Without a plan"`);
    return { ...rest, plan: JSON.parse(drawn) as Plan };
  }

  return {
    addPlan: db.transaction((drawn: Plan, utcUs: number) => {
      const { lastInsertRowid } = db
        .prepare("INSERT INTO plan (utc_ns, after_run, drawn) VALUES (?, (SELECT coalesce(max(id), 0) FROM run), ?)")
        .run(BigInt(utcUs) * 1000n, JSON.stringify(drawn));
      seals.seal("plan", Number(lastInsertRowid));
      return plan(Number(lastInsertRowid));
    }),
    plan,
    plans: () =>
      readableRows<number>(db.prepare("SELECT id FROM plan ORDER BY id").pluck())
        .filter((id) => seals.isWhole("plan", id))
        .map(plan),
    plannedRuns: (id) =>
      readableRows<{ run: number; slot: number; again: number }>(
        db.prepare("SELECT run, slot, again FROM plan_run WHERE plan = ? ORDER BY run"),
        id,
      ).map(({ again, ...rest }): PlannedRun => ({ ...rest, again: again === 1 })),
    plannedBy: () =>
      new Map(readableRows<[run: number, plan: number]>(db.prepare("SELECT run, max(plan) FROM plan_run GROUP BY run").raw())),
    addPlannedRun: db.transaction((id: number, run: number, slot: number) => {
      db.prepare("INSERT INTO plan_run (plan, run, slot) VALUES (?, ?, ?)").run(id, run, slot);
      seals.seal("plan", id);
    }),
    passOver: db.transaction((id: number) => {
      db.prepare("UPDATE plan SET after_run = (SELECT coalesce(max(id), 0) FROM run) WHERE id = ?").run(id);
      seals.seal("plan", id);
    }),
    setAgain: db.transaction((id: number, run: number, again: boolean, utcUs: number) => {
      const before = db.prepare("SELECT again FROM plan_run WHERE plan = ? AND run = ?").pluck().get(id, run) as number | undefined;
      if (before === undefined) throw new BookError("notFound", `Run ${run} fills no slot of the plan`);
      keepEdit(run, "drive again", before === 1, again, utcUs);
      db.prepare("UPDATE plan_run SET again = ? WHERE plan = ? AND run = ?").run(again ? 1 : 0, id, run);
      seals.seal("plan", id);
    }),
  };
}
