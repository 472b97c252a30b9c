/** Where the number of ink that runs beyond its scale stands: over the ink or beside it, always with its unit, clear of posts, of the pen and of other numbers. Pure. */

/** A stretch of the axis that no number may stand in, px. */
export type Span = readonly [from: number, to: number];

/** Between a number and what it keeps clear of, px. */
const CLEAR = 6;

/**
 * The left edge of a number of that width for ink from `from` to `to`, px: inside it, right of it, left of it, else in the nearest gap that holds it.
 * null where nothing holds it.
 */
export function numberPlace(ink: Span, width: number, axis: Span, taken: readonly Span[]): number | null {
  const [from, to] = ink;
  const clear = (x: number) =>
    x >= axis[0] && x + width <= axis[1] && taken.every(([start, end]) => x >= end + CLEAR || x + width <= start - CLEAR);
  const inside = (from + to - width) / 2;
  const near = [...(width + 2 * CLEAR < to - from ? [inside] : []), to + CLEAR, from - CLEAR - width];
  const edges = taken.flatMap(([start, end]) => [end + CLEAR, start - CLEAR - width]);
  const further = edges.sort((a, b) => Math.abs(a - inside) - Math.abs(b - inside));
  return [...near, ...further].find(clear) ?? null;
}
