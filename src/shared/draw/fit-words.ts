/** Words made to fit a width: their middle gives way, since labels differ at their ends. Pure. */

const CUT = "\u2026";
/** Letters narrower than this share of their width are hard to read (no source: tried on 200 letters). */
export const NARROWEST = 0.7;

/** The text itself where it fits; else its first and last letters about an ellipsis, at least one of each. `widthOf` in the unit of `room`. */
export function fitWords(text: string, room: number, widthOf: (text: string) => number): string {
  if (widthOf(text) <= room) return text;
  const letters = [...text];
  const cut = (kept: number) =>
    `${letters
      .slice(0, Math.ceil(kept / 2))
      .join("")
      .trimEnd()}${CUT}${letters
      .slice(letters.length - Math.floor(kept / 2))
      .join("")
      .trimStart()}`;
  let [fits, tooMany] = [2, letters.length];
  while (tooMany - fits > 1) {
    const middle = Math.floor((fits + tooMany) / 2);
    if (widthOf(cut(middle)) <= room) fits = middle;
    else tooMany = middle;
  }
  return cut(fits);
}
