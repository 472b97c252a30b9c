/** Where words go that no upright line may cross: posts of gates, and the start, where the cursor stands first. Pure. */

/** Clear of a line, px. */
const AWAY = 10;

const spans = (uprights: readonly number[], from: number, to: number) => {
  const ends = [from, ...uprights.filter((x) => x > from && x < to).sort((a, b) => a - b), to];
  return ends.slice(1).map((end, i) => [ends[i] as number, end] as const);
};

/**
 * The leftmost place for the first of `words` that has room there: a shorter word further left before a longer one further right, as lines rise
 * to the right. Where `free` says that a line passes through, the next place is tried; where it says so of all, the leftmost is taken. Null where
 * none has room.
 */
export function clearPlace(
  words: readonly { readonly text: string; readonly width: number }[],
  uprights: readonly number[],
  from: number,
  to: number,
  free: (x: number, width: number) => boolean = () => true,
): { readonly text: string; readonly x: number } | null {
  const places = spans(uprights, from, to).flatMap(([left, right]) => {
    const fits = words.filter(({ width }) => width + 2 * AWAY <= right - left);
    return fits.map(({ text, width }) => ({ text, x: left + AWAY, width }));
  });
  const place = places.find(({ x, width }) => free(x, width)) ?? places[0];
  return place === undefined ? null : { text: place.text, x: place.x };
}

/** The middle of the widest span between uprights. */
export function widestPlace(uprights: readonly number[], from: number, to: number): number {
  const [left, right] = spans(uprights, from, to).reduce((widest, span) => (span[1] - span[0] > widest[1] - widest[0] ? span : widest));
  return (left + right) / 2;
}
