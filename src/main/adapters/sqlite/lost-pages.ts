/**
 * Small tables of which a page cannot be read: what is on the others is used, and one line for each says so. The run table has its own way
 * (run-ids.ts).
 */
import type { Database, Statement } from "better-sqlite3";
import { orDamaged } from "./run-ids.ts";

/** Rows up to where they can be read. */
export function readableRows<T>(statement: Statement, ...given: readonly unknown[]): T[] {
  const rows: T[] = [];
  orDamaged(undefined, () => {
    for (const row of statement.iterate(...given) as IterableIterator<T>) rows.push(row);
  });
  return rows;
}

const TABLES = {
  condition: "noted conditions",
  overrule: "overruled flags",
  setting: "the book's own gates and its choice of plan",
  edit: "what was kept of earlier changes",
  plan: "plans",
  plan_run: "which run filled which slot of a plan",
  seal: "checksums",
} as const;

/** One line for each table; empty where all can be read. */
export function lostPages(db: Database, file: string): string[] {
  const isThere = db.prepare("SELECT 1 FROM sqlite_schema WHERE type = 'table' AND name = ?").pluck();
  return Object.entries(TABLES)
    .filter(
      ([table]) => isThere.get(table) !== undefined && orDamaged(null, () => db.prepare(`SELECT count(*) FROM ${table}`).get()) === null,
    )
    .map(([, words]) => `Book ${file}: a page with ${words} cannot be read, and goes on without it; \`check\` lists what is lost`);
}
