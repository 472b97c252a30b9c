/** docs/book.md against a real book: it lists every table, view and column that SQLite itself names, with the roles' units, and its queries run in plain SQL and are right. */
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import Database from "better-sqlite3";
import { afterAll, beforeAll, expect, test } from "vitest";
import { openSqliteBook } from "../../../../src/main/adapters/sqlite/sqlite-book.ts";
import { SINGLE_ROLES } from "../../../../src/shared/setup/roles.ts";
import { addTimedRuns, WORKED_EXAMPLE } from "../../../support/timed-book.ts";

const text = readFileSync(fileURLToPath(new URL("../../../../docs/book.md", import.meta.url)), "utf8");
/** A row of the list: table, column, unit, what. */
const LISTED = [...text.matchAll(/^\| `(\w+)` \| `([\w.]+)` \| ([^|]*) \| [^|]+ \|$/gm)].map(([, table, column, unit]) => ({
  place: `${table} ${column}`,
  column: column as string,
  unit: (unit as string).trim(),
}));

let folder = "";
let db: Database.Database;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
  const file = join(folder, "a.gripbook");
  const ids = addTimedRuns(file, WORKED_EXAMPLE);
  const book = openSqliteBook({ file, create: false });
  for (const id of ids) book.setConditions(id, { surface: id % 2 === 0 ? "dry" : "wet", "slip target": id > 4 ? "8 %" : "12 %" }, 0);
  book.setReview(ids[0] as number, { use: false, note: "a gust" }, 0);
  book.close();
  db = new Database(file, { readonly: true });
});
afterAll(() => {
  db.close();
  rmSync(folder, { recursive: true, force: true });
});

test("every column of every table and view is listed once, and no other", () => {
  const there = db
    .prepare(
      `SELECT s.name || ' ' || c.name FROM sqlite_schema s JOIN pragma_table_info(s.name) c
       WHERE s.type IN ('table', 'view') AND s.name NOT LIKE 'sqlite%'`,
    )
    .pluck()
    .all() as string[];
  expect(there.length).toBeGreaterThan(100);
  expect(LISTED.map(({ place }) => place).sort()).toEqual(there.sort());
});

test("units are the roles' own, ns where a name says so, and s, m/s, m, m/s2 by a name's ending", () => {
  const roles = new Map<string, string>(Object.entries(SINGLE_ROLES));
  for (const { place, column, unit } of LISTED) {
    const role = place.startsWith("sample ") ? roles.get(column) : undefined;
    const said = /(?:_(ns)|(Mps2)|(Mps)|(M)|(S))$/
      .exec(column)
      ?.slice(1)
      .find((ending) => ending !== undefined);
    const byName = { ns: "ns", Mps2: "m/s2", Mps: "m/s", M: "m", S: "s" }[said ?? ""];
    if (role !== undefined || byName !== undefined) expect(unit, place).toBe(role ?? byName);
  }
});

test("its queries run in plain SQL, and say what the runs were made with", () => {
  const queries = [...text.matchAll(/```sql sqlite\n([\s\S]*?)```/g)].map(([, sql]) => db.prepare(sql as string).all());
  // Run 1, off on a wet surface at 5.00 s, is set aside.
  expect(queries[0]).toEqual([
    { label: "off", surface: "dry", runs: 2, best_s: 5.05, middle_s: (5.05 + 5.4) / 2 },
    { label: "off", surface: "wet", runs: 1, best_s: 5.11, middle_s: 5.11 },
    { label: "on", surface: "dry", runs: 2, best_s: 4.42, middle_s: (4.42 + 4.51) / 2 },
    { label: "on", surface: "wet", runs: 2, best_s: 4.35, middle_s: (4.35 + 4.46) / 2 },
  ]);
  const launches = queries[1] as { id: number; above_10_percent_s: number; held_back_nm: number }[];
  expect(launches.map(({ id }) => id)).toEqual([1, 2, 3, 4, 5, 6, 7, 8]);
  // Made with a hump of slip of 4 m/s without control and 1.5 m/s with it, which holds back 60 Nm at most.
  for (const { id, above_10_percent_s, held_back_nm } of launches) {
    expect(above_10_percent_s).toBeGreaterThan(id > 4 ? 0.2 : 0.6);
    expect(above_10_percent_s).toBeLessThan(1.5);
    expect(held_back_nm).toBeCloseTo(id > 4 ? 60 : 0, 6);
  }
  expect(queries[2]).toEqual([
    { slip_target: "8 %", runs: 4, mean_s: expect.closeTo((4.35 + 4.42 + 4.46 + 4.51) / 4, 9), peak_slip_ratio: 0.6 },
    { slip_target: "12 %", runs: 3, mean_s: expect.closeTo((5.05 + 5.11 + 5.4) / 3, 9), peak_slip_ratio: 0.6 },
  ]);
  expect(queries).toHaveLength(3);
});
