/** The reference folder's worked examples, read in place. Without the folder, the tests that need them are skipped with a message. */
import { existsSync, readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";

interface TwoSample {
  readonly name: string;
  readonly x: readonly number[];
  readonly y: readonly number[];
}

export interface StatisticsReference {
  readonly permutation_two_sample: readonly (TwoSample & {
    readonly n_perm: number;
    readonly count_absdiff_ge?: number;
  })[];
  readonly min_p: Readonly<Record<string, { readonly n: number; readonly two: number }>>;
  readonly mann_whitney: readonly (Partial<TwoSample> & {
    readonly name: string;
    readonly hodges_lehmann?: number;
    readonly R_ci95?: readonly [number, number];
  })[];
  readonly "pwilcox_4_4_cdf_U0..16": readonly number[];
  readonly "pwilcox_3_3_cdf_U0..9": readonly number[];
}

const folder = process.env.GRIPBOOK_REFERENCE ?? fileURLToPath(new URL("../../../../shared/reference", import.meta.url));
const file = `${folder}/statistics.json`;

/** Null where the folder is absent. */
export const statistics: StatisticsReference | null = existsSync(file)
  ? (JSON.parse(readFileSync(file, "utf8")) as StatisticsReference)
  : null;
if (!statistics) console.log(`skipped: published worked examples, because ${file} is absent (set GRIPBOOK_REFERENCE)`);
