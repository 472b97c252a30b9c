/** Numbers of runs in words: "3, 4 and 7 to 9". Pure. */

/** Ascending. */
export function runNumbers(ids: readonly number[]): string {
  const spans: [number, number][] = [];
  for (const id of ids) {
    const open = spans.at(-1);
    if (open !== undefined && id === open[1] + 1) open[1] = id;
    else spans.push([id, id]);
  }
  // Two neighbours are two numbers.
  const parts = spans.flatMap(([from, to]) => (to - from < 2 ? [...new Set([from, to])].map(String) : [`${from} to ${to}`]));
  return parts.length < 2 ? parts.join("") : `${parts.slice(0, -1).join(", ")} and ${parts.at(-1)}`;
}
