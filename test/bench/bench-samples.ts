/** Samples of a made-up run for benches: every column the book holds, each `rows` long at 100 Hz. */
import { FIXED_COLUMNS } from "../../src/main/adapters/sqlite/sample-columns.ts";
import { ROLE_COLUMNS } from "../../src/main/adapters/sqlite/sqlite-schema.ts";
import type { RunSamples } from "../../src/shared/run/run.ts";

/** `column` makes one column of the wanted height (its own unit). */
export function benchSamples(rows: number, height: { readonly fixed: number; readonly roles: number }): RunSamples {
  const column = (most: number) => Float64Array.from({ length: rows }, (_, i) => (i / rows) * most + Math.sin(i / 7) * 3);
  const fixed = Object.fromEntries(FIXED_COLUMNS.map((name) => [name, column(height.fixed)])) as Record<
    (typeof FIXED_COLUMNS)[number],
    Float64Array
  >;
  return {
    ...fixed,
    tS: Float64Array.from({ length: rows }, (_, i) => i / 100),
    roles: Object.fromEntries(ROLE_COLUMNS.map((name) => [name, column(height.roles)])),
  };
}
