/** Where words go that no upright line may cross: posts of gates, and the start, where the cursor stands first. Pure. */

/** Clear of a line, px. */
const AWAY = 10;

const spans = (uprights: readonly number[], from: number, to: number) => {
  const ends = [from, ...uprights.filter((x) => x > from && x < to).sort((a, b) => a - b), to];
  return ends.slice(1).map((end, i) => [ends[i], end] as const);
};

/**
 * The leftmost place for the first of `words` that has room there: a shorter word further left before a longer one further right, as lines rise
 * to the right. Where `free` says that a line passes through (false), the longest word that has a place without is put; where it says so of all,
 * the leftmost is taken.
 * Where it says that another word stands (null), none is put. Null where none has room.
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
