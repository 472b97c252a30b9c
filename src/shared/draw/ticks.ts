/** Round ticks for an axis of numbers, the same on paper and on screen. A span of nothing gives its one tick. */

/** A step of 1, 2 or 5 times a power of ten that cuts `span` into at most `most`. */
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

/** Digits after the point that tell one tick from the next. */
export const decimalsOf = (step: number) => Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
