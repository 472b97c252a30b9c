/** Prepares each statement once: of thousands of runs, preparing takes longer than reading. What cannot be prepared throws, as `prepare` does. */
import type { Database, Statement } from "better-sqlite3";

/** `make` may set how rows are given; it must be the same for every use of that text. */
export function keptStatements(db: Database, make: (statement: Statement) => Statement): (sql: string) => Statement {
  const kept = new Map<string, Statement>();
  return (sql) => {
    let statement = kept.get(sql);
    if (statement === undefined) {
      statement = make(db.prepare(sql));
      kept.set(sql, statement);
    }
    return statement;
  };
}
