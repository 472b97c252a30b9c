/** A 128-bit name for a sequence of numbers: the same numbers give the same name on every machine. Not for security. */

const PRIMES = [0x9e3779b1, 0x85ebca6b, 0xc2b2ae35, 0x27d4eb2f];

/** 32 hex digits over the IEEE 754 bits of `values` in order. Mixes by multiplying and rotating; the constants are our own. */
export function fingerprint(values: Iterable<number>): string {
  const view = new DataView(new ArrayBuffer(8));
  const lanes = [1, 2, 3, 4];
  const mix = (word: number) => {
    for (let k = 0; k < 4; k++) {
      const mixed = Math.imul(lanes[k] ^ word, PRIMES[k]);
      lanes[k] = ((mixed << 13) | (mixed >>> 19)) ^ lanes[(k + 1) & 3];
    }
  };
  let count = 0;
  for (const value of values) {
    view.setFloat64(0, value);
    mix(view.getUint32(0));
    mix(view.getUint32(4));
    count += 1;
  }
  for (let round = 0; round < 8; round++) mix(count);
  return lanes.map((lane) => (lane >>> 0).toString(16).padStart(8, "0")).join("");
}
