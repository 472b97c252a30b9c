/** Finds places for words where no upright line crosses them: gate posts, and the start, where the cursor first stands. Pure. */

/** Least distance from a line, px. */
const AWAY = 10;

const spans = (uprights: readonly number[], from: number, to: number) => {
  const ends = [from, ...uprights.filter((x) => x > from && x < to).sort((a, b) => a - b), to];
  return ends.slice(1).map((end, i) => [ends[i], end] as const);
};

/**
 * The leftmost place for the first of `words` that has room there. A shorter word further left comes before a longer one further right, as
 * curves rise to the right. `free` says whether a place is free: false where a line passes through, null where another word stands. The
 * longest word with a place that no line crosses is put; where lines cross every place, the leftmost one is used. No word is put where
 * another stands. Null where there is no room.
 */
export function clearPlace(
  words: readonly { readonly text: string; readonly width: number }[],
  uprights: readonly number[],
  from: number,
  to: number,
  free: (x: number, width: number) => boolean | null = () => true,
): { readonly text: string; readonly x: number } | null {
  const places = spans(uprights, from, to).flatMap(([left, right]) => {
    const fits = words.filter(({ width }) => width + 2 * AWAY <= right - left);
    return fits.map(({ text, width }) => ({ text, x: left + AWAY, width }));
  });
  const told = places.map((place) => ({ ...place, free: free(place.x, place.width) }));
  const standing = told.filter((place) => place.free);
  const longest = words.find(({ text }) => standing.some((place) => place.text === text))?.text;
  const place = told[0]?.free ? told[0] : (standing.find(({ text }) => text === longest) ?? told.find((known) => known.free === false));
  return place === undefined ? null : { text: place.text, x: place.x };
}

/** The middle of the widest span between uprights. */
export function widestPlace(uprights: readonly number[], from: number, to: number): number {
  const [left, right] = spans(uprights, from, to).reduce((widest, span) => (span[1] - span[0] > widest[1] - widest[0] ? span : widest));
  return (left + right) / 2;
}
