/** Where words go that no upright line may cross: posts of gates, and the start, where the cursor stands first. Pure. */

/** Clear of a line, px. */
const AWAY = 10;

const spans = (uprights: readonly number[], from: number, to: number) => {
  const ends = [from, ...uprights.filter((x) => x > from && x < to).sort((a, b) => a - b), to];
  return ends.slice(1).map((end, i) => [ends[i] as number, end] as const);
};

/**
 * The leftmost place for the first of `words` that has room there: a shorter word further left before a longer one further right, as lines rise
 * to the right. Null where none has room.
 */
export function clearPlace(
  words: readonly { readonly text: string; readonly width: number }[],
  uprights: readonly number[],
  from: number,
  to: number,
): { readonly text: string; readonly x: number } | null {
  for (const [left, right] of spans(uprights, from, to)) {
    const fits = words.find(({ width }) => width + 2 * AWAY <= right - left);
    if (fits !== undefined) return { text: fits.text, x: left + AWAY };
  }
  return null;
}

/** The middle of the widest span between uprights. */
export function widestPlace(uprights: readonly number[], from: number, to: number): number {
  const [left, right] = spans(uprights, from, to).reduce((widest, span) => (span[1] - span[0] > widest[1] - widest[0] ? span : widest));
  return (left + right) / 2;
}
