/** Round ticks for a numeric axis, the same on paper and on screen. A span of zero gives one tick. */

/** A step of 1, 2 or 5 times a power of ten that divides `span` into at most `most` parts. */
export function tickStep(span: number, most = 8): number {
  const raw = (span || 1) / most;
  const power = 10 ** Math.floor(Math.log10(raw));
  return [1, 2, 5, 10].map((factor) => factor * power).find((step) => step >= raw) as number;
}

export function ticksBetween(low: number, high: number, most = 8): number[] {
  const step = tickStep(high - low, most);
  const first = Math.ceil(low / step - 1e-9);
  return Array.from({ length: Math.max(0, Math.floor(high / step + 1e-9) - first + 1) }, (_, i) => (first + i) * step);
}

/** Digits after the point that are needed to tell neighbouring ticks apart. */
export const decimalsOf = (step: number) => Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
