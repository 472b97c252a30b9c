/** Which runs a report shows one by one: those asked for, all of a day, or of a season the quickest, the middle and the slowest of each group. Never fails. */
import type { ReportInput, ReportRun } from "./report-input.ts";

/** Up to so many runs all are shown. */
export const MOST_WHOLE = 48;
/** Of each kind, a group. */
const OF_A_KIND = 2;

/** In use and timed at the comparison's gate, by time. */
function byTime(runs: readonly ReportRun[], label: string, { gate, start }: { gate: string; start: string }): ReportRun[] {
  const secondsOf = (run: ReportRun) => run.gates.find((known) => known.gate === gate && known.start === start)?.seconds ?? null;
  return runs
    .flatMap((run) => {
      const seconds = run.label === label && run.use ? secondsOf(run) : null;
      return seconds === null ? [] : [{ run, seconds }];
    })
    .sort((x, y) => x.seconds - y.seconds)
    .map(({ run }) => run);
}

export function shownRuns({ runs, comparisons, shown }: ReportInput): readonly ReportRun[] {
  if (shown !== null) return runs.filter((run) => shown.includes(run.id));
  if (runs.length <= MOST_WHOLE) return runs;
  const [first] = comparisons;
  if (first === undefined) return runs.slice(-MOST_WHOLE);
  const labels = [...new Set(comparisons.flatMap(({ a, b }) => [a.label, b.label]))];
  const kept = new Set(
    labels.flatMap((label) => {
      const own = byTime(runs, label, first);
      const middle = Math.floor((own.length - OF_A_KIND) / 2);
      return [...own.slice(0, OF_A_KIND), ...own.slice(middle, middle + OF_A_KIND), ...own.slice(-OF_A_KIND)].map((run) => run.id);
    }),
  );
  return runs.filter((run) => kept.has(run.id));
}

/** "12 of 600 runs are shown one by one ..."; null where all are. */
export function shownWords({ runs, shown, comparisons }: ReportInput, count: number): string | null {
  if (count === runs.length) return null;
  const picked = comparisons.length === 0 ? "the newest" : "the quickest, the middle and the slowest of each group";
  const compared = comparisons.length === 0 ? "" : " The comparison above is not of these alone.";
  return `${count} of ${runs.length} runs are shown one by one here: ${shown === null ? picked : "those chosen"}.${compared} The book's table and export hold all of them.`;
}
