/**
 * Compares a book's tables with those of its version. A file from somebody else may have triggers that run on our writes, or endless views
 * with the names of our tables (sqlite.org/security.html). Reads only the schema's text and runs nothing of it.
 */
import Database from "better-sqlite3";
import { MIGRATIONS } from "./sqlite-migrations.ts";

interface Item {
  readonly type: string;
  readonly name: string;
  readonly table: string;
  /** Spaces do not count. */
  readonly sql: string;
}

/** SQLite's own items are left out. */
function itemsOf(db: Database.Database): Item[] {
  const rows = db
    .prepare(
      "SELECT type, name, tbl_name, coalesce(sql, '') FROM sqlite_schema WHERE name NOT LIKE 'sqlite\\_%' ESCAPE '\\' ORDER BY type, name",
    )
    .raw()
    .all() as [string, string, string, string][];
  return rows.map(([type, name, table, sql]) => ({ type, name, table, sql: sql.replaceAll(/\s+/g, " ") }));
}

const expected = new Map<number, readonly Item[]>();

function expectedItems(version: number): readonly Item[] {
  const known = expected.get(version);
  if (known !== undefined) return known;
  const db = new Database(":memory:");
  for (const sql of MIGRATIONS.slice(0, version)) db.exec(sql);
  const items = itemsOf(db);
  db.close();
  expected.set(version, items);
  return items;
}

export interface SchemaFaults {
  /** What makes a book unsafe to open: other tables, and foreign triggers. */
  readonly unfit: readonly string[];
  /** Differences that are reported and do no harm. */
  readonly odd: readonly string[];
}

export const tablesOf = (version: number): readonly string[] =>
  expectedItems(version)
    .filter(({ type }) => type === "table")
    .map(({ name }) => name);

export function schemaFaults(db: Database.Database): SchemaFaults {
  const version = db.pragma("user_version", { simple: true }) as number;
  const wanted = new Map(expectedItems(version).map((item) => [item.name, item]));
  const found = new Map(itemsOf(db).map((item) => [item.name, item]));
  const unfit: string[] = [];
  const odd: string[] = [];
  for (const { type, name, sql } of wanted.values()) {
    const its = found.get(name);
    if (its === undefined) (type === "table" ? unfit : odd).push(`the ${type} ${name} is missing`);
    else if (its.type !== type || its.sql !== sql) unfit.push(`the ${type} ${name} is another than a book has`);
  }
  for (const { type, name, table } of found.values()) {
    if (wanted.has(name)) continue;
    const words = `the ${type} ${JSON.stringify(name)} on ${JSON.stringify(table)} is none of a book's`;
    (type === "trigger" || (type === "index" && wanted.has(table)) ? unfit : odd).push(words);
  }
  return { unfit, odd };
}
