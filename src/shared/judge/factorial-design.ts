/**
 * Two-level designs for screening up to seven settings, and the composite design for the best two. Levels are coded: -1 low, +1 high, 0 centre.
 * Generators: NIST/SEMATECH e-Handbook of Statistical Methods, 5.3.3.4.7, and the Dataplot design files 2TO4M1 to 2TO7M3 (public domain). A number
 * of factors outside of these throws RangeError.
 */

/** Factors that each further factor is the product of. */
const GENERATORS: Readonly<Record<number, readonly (readonly number[])[]>> = {
  2: [],
  3: [],
  4: [[0, 1, 2]],
  5: [[0, 1, 2, 3]],
  6: [
    [0, 1, 2],
    [1, 2, 3],
  ],
  7: [
    [0, 1, 2],
    [1, 2, 3],
    [0, 2, 3],
  ],
};
const MOST_FACTORS = 7;

export interface FactorialDesign {
  /** "2^(4-1)". */
  readonly name: string;
  /** Length of the shortest word; null for a full factorial, which mixes nothing. */
  readonly resolution: number | null;
  /** Coded levels of each run, in standard order. */
  readonly runs: readonly (readonly number[])[];
  /** Pairs of factors whose joint effects cannot be told apart, in groups of more than one. */
  readonly mixed: readonly (readonly (readonly [number, number])[])[];
}

const bits = (mask: number) => mask.toString(2).replaceAll("0", "").length;
const maskOf = (factors: readonly number[]) => factors.reduce((mask, factor) => mask | (1 << factor), 0);

/** Products of factors that are 1 in every run: the defining relation, without 1 itself. */
function definingWords(base: number, generators: readonly (readonly number[])[]): number[] {
  const words = [0];
  generators.forEach((factors, i) => {
    const own = maskOf(factors) | (1 << (base + i));
    words.push(...words.map((word) => word ^ own));
  });
  return words.slice(1);
}

export function screeningDesign(factors: number): FactorialDesign {
  const generators = GENERATORS[factors];
  if (generators === undefined) throw new RangeError(`Expected 2 to ${MOST_FACTORS} settings to screen, got ${factors}`);
  const base = factors - generators.length;
  const runs = Array.from({ length: 2 ** base }, (_, run) => {
    const levels = Array.from({ length: base }, (_, factor) => ((run >> factor) & 1 ? 1 : -1));
    return [...levels, ...generators.map((of) => of.reduce((product, factor) => product * (levels[factor] as number), 1))];
  });
  const words = definingWords(base, generators);
  const pairs = Array.from({ length: factors }, (_, a) => a).flatMap((a) =>
    Array.from({ length: factors - a - 1 }, (_, k) => [a, a + k + 1] as const),
  );
  const groups = new Map<number, (readonly [number, number])[]>();
  for (const pair of pairs) {
    const own = maskOf(pair);
    const name = Math.min(own, ...words.map((word) => own ^ word).filter((mask) => bits(mask) === 2));
    groups.set(name, [...(groups.get(name) ?? []), pair]);
  }
  return {
    name: generators.length === 0 ? `2^${factors}` : `2^(${factors}-${generators.length})`,
    resolution: words.length === 0 ? null : Math.min(...words.map(bits)),
    runs,
    mixed: [...groups.values()].filter((group) => group.length > 1),
  };
}

/**
 * The central composite design of two factors, inscribed: its star points lie at the ends of what was tried, its corners inside, all equally far
 * from the centre (e-Handbook 5.3.3.6.1). `centres`: how often the centre is driven.
 */
export function inscribedComposite(centres: number): readonly (readonly [number, number])[] {
  const corner = Math.SQRT1_2;
  return [
    [-corner, -corner],
    [corner, -corner],
    [-corner, corner],
    [corner, corner],
    [-1, 0],
    [1, 0],
    [0, -1],
    [0, 1],
    ...Array.from({ length: centres }, () => [0, 0] as const),
  ];
}
