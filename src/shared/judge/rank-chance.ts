/**
 * What chance alone does to the weighted rank sum within strata (van Elteren 1960): labels dealt anew inside each stratum, every deal equally
 * likely. Counted where that can be done, drawn from a seeded generator where not; which of both is said. No stratum throws RangeError.
 */
import { combinations } from "./counting.ts";
import { pairsOf, rankSumCost, rankSumDistribution, type StratumSize } from "./rank-sum.ts";
import { createSeededRandom, type SeededRandom } from "./seeded-random.ts";

/** Weight of each pair of a stratum: best where the setting is worth the same in all of them (van Elteren 1960). */
export const weightOf = ({ a, b }: StratumSize): number => 1 / (a + b + 1);

/** Sums that differ by less are one: they are sums of a few dozen fractions. */
const TOLERANCE = 1e-9;
const MOST_STATES = 200_000;
const MOST_ADDITIONS = 100_000_000;
/** Up to so many runs of the smaller group the recurrence keeps eight digits; beyond, rounding would show. */
const MOST_COUNTED_RUNS = 200;
const DRAWS = 100_000;
/** Where single strata are too large for their own distribution, and every draw deals out their ranks. */
const DEALT_DRAWS = 20_000;

export interface RankChance {
  readonly method: "exact" | "sampled";
  /** Ways to deal the labels (exact; the greatest number there is where they are more), or deals drawn. */
  readonly assignments: number;
  readonly smallestPossibleP: number;
  /** How likely, and in how many deals, the sum strays at least `far` from its middle, either way. */
  straying(far: number): { readonly chance: number; readonly count: number };
  /** The farthest straying whose chance is still over `level`: all that is farther is refused, with the chance that covers the rest. Where nothing can be refused, all but the farthest straying. */
  limit(level: number): { readonly far: number; readonly coverage: number };
}

interface Straying {
  /** Rising. */
  readonly far: Float64Array;
  /** Of each, the chance of it or more. */
  readonly tail: Float64Array;
}

/** Strata of one size share a weight, so their sums stay whole numbers. */
function bySize(strata: readonly StratumSize[]): StratumSize[][] {
  const sizes = new Map<number, StratumSize[]>();
  for (const stratum of strata) {
    const size = stratum.a + stratum.b;
    sizes.set(size, [...(sizes.get(size) ?? []), stratum]);
  }
  return [...sizes.values()];
}

const isLarge = ({ a, b }: StratumSize) => Math.min(a, b) > MOST_COUNTED_RUNS || rankSumCost([{ a, b }]) > MOST_ADDITIONS;

const sumOf = (strata: readonly StratumSize[], value: (stratum: StratumSize) => number) =>
  strata.reduce((sum, stratum) => sum + value(stratum), 0);

/** Every sum that can come, and its chance; null where there are too many. */
function count(strata: readonly StratumSize[]): Straying | null {
  const groups = bySize(strata);
  const states = groups.reduce((product, group) => product * (1 + sumOf(group, pairsOf)), 1);
  // One lattice of whole numbers may be longer than several that are combined.
  const most = groups.length === 1 ? Number.POSITIVE_INFINITY : MOST_STATES;
  if (states > most || strata.some(isLarge) || groups.reduce((sum, group) => sum + rankSumCost(group), 0) > MOST_ADDITIONS) return null;
  let sums = Float64Array.of(0);
  let shares = Float64Array.of(1);
  for (const group of groups) {
    const own = rankSumDistribution(group);
    const weight = weightOf(group[0] as StratumSize);
    const middle = sumOf(group, pairsOf) / 2;
    const [nextSums, nextShares] = [new Float64Array(sums.length * own.length), new Float64Array(sums.length * own.length)];
    for (let i = 0; i < sums.length; i += 1) {
      for (let u = 0; u < own.length; u += 1) {
        nextSums[i * own.length + u] = sums[i] + weight * (u - middle);
        nextShares[i * own.length + u] = shares[i] * own[u];
      }
    }
    [sums, shares] = [nextSums, nextShares];
  }
  return toStraying(sums, shares);
}

/** Equal strayings become one, with the tail summed from the rare end. */
function toStraying(sums: Float64Array, shares: Float64Array): Straying {
  const order = new Uint32Array(sums.length).map((_, i) => i).sort((i, j) => Math.abs(sums[i]) - Math.abs(sums[j]));
  const far: number[] = [];
  const tail: number[] = [];
  let chance = 0;
  for (let at = order.length - 1; at >= 0; at -= 1) {
    const index = order[at] as number;
    const here = Math.abs(sums[index]);
    chance += shares[index];
    if (far.length > 0 && (far.at(-1) as number) - here < TOLERANCE) tail[tail.length - 1] = chance;
    else {
      far.push(here);
      tail.push(chance);
    }
  }
  return { far: Float64Array.from(far.reverse()), tail: Float64Array.from(tail.reverse(), (share) => Math.min(1, share)) };
}

/** Adds a stratum's strayings to every deal, from its own distribution: two looks a draw, whatever its length (alias method, Walker 1977). */
function addDrawn(sums: Float64Array, stratum: StratumSize, random: SeededRandom): void {
  const shares = rankSumDistribution([stratum]);
  const n = shares.length;
  const stays = shares.map((share) => share * n);
  const alias = Uint32Array.from({ length: n }, (_, i) => i);
  const small: number[] = [];
  const large: number[] = [];
  stays.forEach((value, i) => {
    (value < 1 ? small : large).push(i);
  });
  while (small.length > 0 && large.length > 0) {
    const less = small.pop() as number;
    const more = large.at(-1) as number;
    alias[less] = more;
    stays[more] = stays[more] + stays[less] - 1;
    if (stays[more] < 1) small.push(large.pop() as number);
  }
  for (const i of [...small, ...large]) stays[i] = 1;
  const [weight, middle] = [weightOf(stratum), pairsOf(stratum) / 2];
  for (let deal = 0; deal < sums.length; deal += 1) {
    const at = random.next() * n;
    const i = Math.floor(at);
    sums[deal] = sums[deal] + weight * ((at - i < stays[i] ? i : alias[i]) - middle);
  }
}

/** The same for a stratum too large for that: deals out its ranks and counts its pairs. */
function addDealt(sums: Float64Array, stratum: StratumSize, random: SeededRandom): void {
  const few = Math.min(stratum.a, stratum.b);
  const ranks = Uint32Array.from({ length: stratum.a + stratum.b }, (_, i) => i);
  const [weight, middle] = [weightOf(stratum), pairsOf(stratum) / 2 + (few * (few - 1)) / 2];
  for (let deal = 0; deal < sums.length; deal += 1) {
    let sum = 0;
    for (let i = 0; i < few; i += 1) {
      const j = i + random.below(ranks.length - i);
      const dealt = ranks[j];
      ranks[j] = ranks[i];
      ranks[i] = dealt;
      sum += dealt;
    }
    sums[deal] = sums[deal] + weight * (sum - middle);
  }
}

/** Strayings of drawn deals, rising. */
function draw(strata: readonly StratumSize[], seed: number): Float64Array {
  const random = createSeededRandom(seed);
  const sums = new Float64Array(strata.some(isLarge) ? DEALT_DRAWS : DRAWS);
  for (const stratum of strata) (isLarge(stratum) ? addDealt : addDrawn)(sums, stratum, random);
  return sums.map(Math.abs).sort();
}

/** The first place whose value is at least `least`; the length where none is. */
function firstAtLeast(sorted: Float64Array, least: number): number {
  let [from, to] = [0, sorted.length];
  while (from < to) {
    const middle = (from + to) >> 1;
    if (sorted[middle] < least) from = middle + 1;
    else to = middle;
  }
  return from;
}

/** Up to so many ways a chance is a count of them, as exact as its division. */
const MOST_EXACT_WAYS = 1e12;

function exactChance({ far, tail: shares }: Straying, assignments: number): RankChance {
  const least = 2 / assignments;
  const tail = assignments > MOST_EXACT_WAYS ? shares : shares.map((share) => Math.round(share * assignments) / assignments);
  const last = far.length - 1;
  return {
    method: "exact",
    assignments,
    smallestPossibleP: Math.min(1, least),
    straying(asked) {
      const at = firstAtLeast(far, asked - TOLERANCE);
      const chance = at > last ? 0 : Math.max(tail[at], Math.min(1, least));
      return { chance, count: Math.round(chance * assignments) };
    },
    limit(level) {
      let at = last;
      while (at > 0 && tail[at] <= level) at -= 1;
      // Nothing can be refused: the widest interval there is leaves out the farthest straying alone.
      const kept = at === last ? Math.max(0, last - 1) : at;
      return { far: far[kept], coverage: last === 0 ? 0 : 1 - tail[kept + 1] };
    },
  };
}

function sampledChance(far: Float64Array, ways: number): RankChance {
  const draws = far.length;
  const chanceOf = (extreme: number) => (extreme + 1) / (draws + 1);
  return {
    method: "sampled",
    assignments: draws,
    smallestPossibleP: Math.max(chanceOf(0), 2 / ways),
    straying(asked) {
      const extreme = draws - firstAtLeast(far, asked - TOLERANCE);
      return { chance: chanceOf(extreme), count: extreme };
    },
    limit(level) {
      const refused = Math.max(0, Math.floor(level * (draws + 1) + 1e-9) - 1);
      const stays = far[draws - 1 - refused];
      // Draws that tie with it stay too.
      return { far: stays, coverage: 1 - chanceOf(draws - firstAtLeast(far, stays + TOLERANCE)) };
    },
  };
}

/** Ways to deal the labels inside each stratum; the greatest number there is where they are more. */
export function waysToDeal(strata: readonly StratumSize[]): number {
  return Math.min(
    Number.MAX_VALUE,
    strata.reduce((product, { a, b }) => product * combinations(a + b, a), 1),
  );
}

/** `strata`: how many runs of each group each holds, at least one of both. The same seed draws the same deals. */
export function rankChance(strata: readonly StratumSize[], seed = 1): RankChance {
  if (strata.length === 0 || strata.some(({ a, b }) => a < 1 || b < 1))
    throw new RangeError("Expected at least one value a group in every stratum");
  const ways = waysToDeal(strata);
  const counted = count(strata);
  return counted === null ? sampledChance(draw(strata, seed), ways) : exactChance(counted, ways);
}
