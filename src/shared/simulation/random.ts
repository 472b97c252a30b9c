/**
 * Random numbers from a seed (sfc32 by Chris Doty-Humphrey, public domain, from memory). The same seed and stream name give the same
 * numbers. Never fails.
 */

/** An independent stream of numbers. */
export interface Random {
  /** Uniform in [0, 1). */
  next(): number;
  /** Uniform in [low, high). */
  between(low: number, high: number): number;
  /** Standard normal (Box-Muller). */
  normal(): number;
}

/** FNV-1a: mixes a stream's name and seed into 32 bits, so that neighbouring seeds give unrelated numbers. */
function hash32(text: string, start: number): number {
  let hash = start ^ 0x811c9dc5;
  for (let i = 0; i < text.length; i += 1) hash = Math.imul(hash ^ text.charCodeAt(i), 0x01000193);
  return hash >>> 0;
}

/** Numbers for one purpose (`stream`) of one seed: a change in one part's draws does not affect the others. */
export function createRandom(seed: number, stream: string): Random {
  const name = `${seed}/${stream}`;
  let a = hash32(name, 1);
  let b = hash32(name, 2);
  let c = hash32(name, 3);
  let counter = 1;
  let spare = Number.NaN;
  const next = (): number => {
    const t = (((a + b) | 0) + counter) | 0;
    counter = (counter + 1) | 0;
    a = b ^ (b >>> 9);
    b = (c + (c << 3)) | 0;
    c = (c << 21) | (c >>> 11);
    c = (c + t) | 0;
    return (t >>> 0) / 4294967296;
  };
  for (let i = 0; i < 15; i += 1) next();
  return {
    next,
    between: (low, high) => low + (high - low) * next(),
    normal() {
      if (!Number.isNaN(spare)) {
        const value = spare;
        spare = Number.NaN;
        return value;
      }
      const radius = Math.sqrt(-2 * Math.log(1 - next()));
      const angle = 2 * Math.PI * next();
      spare = radius * Math.sin(angle);
      return radius * Math.cos(angle);
    },
  };
}
