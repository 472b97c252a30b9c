/** Seeded random numbers: the same seed gives the same drive on every machine. Throws on a seed that is not an integer. */

export interface Random {
  /** Uniform in [0, 1). */
  next(): number;
  /** Uniform in [low, high). */
  between(low: number, high: number): number;
  /** Standard normal (polar method). */
  normal(): number;
  /** Exponential with the given mean. */
  exponential(mean: number): number;
  chance(probability: number): boolean;
  pick<T>(choices: readonly T[]): T;
}

/** xorshift128 (Marsaglia 2003), seeded through splitmix32. */
export function createRandom(seed: number): Random {
  if (!Number.isInteger(seed)) throw new RangeError(`Expected an integer seed, got ${seed}`);
  let state = seed | 0;
  const mix = (): number => {
    state = (state + 0x9e3779b9) | 0;
    let z = state;
    z = Math.imul(z ^ (z >>> 16), 0x21f0aaad);
    z = Math.imul(z ^ (z >>> 15), 0x735a2d97);
    return (z ^ (z >>> 15)) >>> 0;
  };
  let x = mix();
  let y = mix();
  let z = mix();
  let w = mix() | 1;
  let spare: number | null = null;
  const word = (): number => {
    const t = x ^ (x << 11);
    x = y;
    y = z;
    z = w;
    w = (w ^ (w >>> 19) ^ (t ^ (t >>> 8))) >>> 0;
    return w;
  };
  const next = (): number => (word() * 2 ** 21 + (word() >>> 11)) / 2 ** 53;
  const normal = (): number => {
    if (spare !== null) {
      const kept = spare;
      spare = null;
      return kept;
    }
    for (;;) {
      const a = 2 * next() - 1;
      const b = 2 * next() - 1;
      const s = a * a + b * b;
      if (s <= 0 || s >= 1) continue;
      const scale = Math.sqrt((-2 * Math.log(s)) / s);
      spare = b * scale;
      return a * scale;
    }
  };
  return {
    next,
    normal,
    between: (low, high) => low + (high - low) * next(),
    exponential: (mean) => -mean * Math.log(1 - next()),
    chance: (probability) => next() < probability,
    pick: (choices) => choices[Math.floor(next() * choices.length)] as (typeof choices)[number],
  };
}

/** Noise of one receiver axis at its epochs: white plus first-order autoregressive, in stationary state from the start. */
export function createNoise(random: Random, whiteMps: number, correlatedMps: number, correlationS: number, stepS: number): () => number {
  const rho = correlationS > 0 ? Math.exp(-stepS / correlationS) : 0;
  // Var x = drive^2 / (1 - rho^2) for x' = rho x + drive e: keeps the standard deviation at correlatedMps.
  const drive = correlatedMps * Math.sqrt(1 - rho * rho);
  let x = correlatedMps * random.normal();
  return () => {
    const value = x + whiteMps * random.normal();
    x = rho * x + drive * random.normal();
    return value;
  };
}
