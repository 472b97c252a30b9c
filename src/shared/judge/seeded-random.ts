/** A small generator with a seed, so that a draw or a simulated test can be repeated from its stored seed. Never for secrets. */

export interface SeededRandom {
  /** Uniform in [0, 1), 32 bits. */
  next(): number;
  /** Uniform whole number from 0 to `count - 1`. */
  below(count: number): number;
  /** Standard normal deviate (Box and Muller 1958). */
  normal(): number;
}

/**
 * Scrambles a 32-bit counter (a Weyl sequence through a multiply-xorshift finaliser). Throws RangeError unless the seed is a whole number
 * from 0 to 2^32 - 1.
 */
export function createSeededRandom(seed: number): SeededRandom {
  if (!Number.isInteger(seed) || seed < 0 || seed > 0xffffffff) throw new RangeError(`Expected a seed from 0 to 4294967295, got ${seed}`);
  let state = seed >>> 0;
  const next = () => {
    state = (state + 0x9e3779b9) >>> 0;
    let z = state;
    z = Math.imul(z ^ (z >>> 16), 0x85ebca6b);
    z = Math.imul(z ^ (z >>> 13), 0xc2b2ae35);
    return ((z ^ (z >>> 16)) >>> 0) / 4294967296;
  };
  const below = (count: number) => Math.floor(next() * count);
  const normal = () => Math.sqrt(-2 * Math.log(1 - next())) * Math.cos(2 * Math.PI * next());
  return { next, below, normal };
}

/** Shuffles in place; every order is equally likely (Fisher and Yates 1938). */
export function shuffle<T>(items: T[], random: SeededRandom): T[] {
  for (let i = items.length - 1; i > 0; i -= 1) {
    const j = random.below(i + 1);
    const kept = items[i] as T;
    items[i] = items[j] as T;
    items[j] = kept;
  }
  return items;
}
