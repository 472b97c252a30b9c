/** Student's t, chi-square and normal distributions, to about 1e-10. Out-of-range arguments throw RangeError. */

/** Natural logarithm of the gamma function (Lanczos 1964, g = 7, nine terms; error below 1e-13 for x > 0). */
function logGamma(x: number): number {
  const terms = [
    0.99999999999980993, 676.5203681218851, -1259.1392167224028, 771.32342877765313, -176.61502916214059, 12.507343278686905,
    -0.13857109526572012, 9.9843695780195716e-6, 1.5056327351493116e-7,
  ];
  if (x < 0.5) return Math.log(Math.PI / Math.sin(Math.PI * x)) - logGamma(1 - x);
  const base = x - 1 + 7.5;
  const series = terms.reduce((sum, term, i) => (i === 0 ? term : sum + term / (x - 1 + i)), 0);
  return 0.5 * Math.log(2 * Math.PI) + (x - 0.5) * Math.log(base) - base + Math.log(series);
}

/** Regularised incomplete beta I_x(a, b) by Lentz's continued fraction (Abramowitz and Stegun 26.5.8). */
function incompleteBeta(x: number, a: number, b: number): number {
  if (x <= 0) return 0;
  if (x >= 1) return 1;
  if (x > (a + 1) / (a + b + 2)) return 1 - incompleteBeta(1 - x, b, a);
  const front = Math.exp(logGamma(a + b) - logGamma(a) - logGamma(b) + a * Math.log(x) + b * Math.log1p(-x)) / a;
  const keep = (value: number) => (Math.abs(value) < 1e-300 ? 1e-300 : value);
  let c = 1;
  let d = 1 / keep(1 - ((a + b) * x) / (a + 1));
  let result = d;
  for (let m = 1; m <= 500; m += 1) {
    const even = (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m));
    d = 1 / keep(1 + even * d);
    c = keep(1 + even / c);
    result *= d * c;
    const odd = (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1));
    d = 1 / keep(1 + odd * d);
    c = keep(1 + odd / c);
    result *= d * c;
    if (Math.abs(d * c - 1) < 1e-15) break;
  }
  return front * result;
}

/** Regularised lower incomplete gamma P(a, x) by its series, or by continued fraction above a + 1 (Abramowitz and Stegun 6.5.29, 6.5.31). */
function incompleteGamma(a: number, x: number): number {
  if (x <= 0) return 0;
  const front = Math.exp(a * Math.log(x) - x - logGamma(a));
  if (x < a + 1) {
    let term = 1 / a;
    let sum = term;
    for (let n = 1; n < 2000 && term > sum * 1e-16; n += 1) {
      term *= x / (a + n);
      sum += term;
    }
    return front * sum;
  }
  let b = x + 1 - a;
  let c = 1e300;
  let d = 1 / b;
  let result = d;
  for (let i = 1; i < 2000; i += 1) {
    const an = -i * (i - a);
    b += 2;
    d = 1 / (an * d + b);
    c = b + an / c;
    result *= d * c;
    if (Math.abs(d * c - 1) < 1e-15) break;
  }
  return 1 - front * result;
}

function bisect(low: number, high: number, isBelow: (at: number) => boolean): number {
  let from = low;
  let to = high;
  for (let i = 0; i < 200 && to - from > 1e-13 * Math.max(1, Math.abs(from)); i += 1) {
    const at = (from + to) / 2;
    if (isBelow(at)) from = at;
    else to = at;
  }
  return (from + to) / 2;
}

function checkDegrees(degrees: number): void {
  if (!(degrees > 0)) throw new RangeError(`Expected degrees of freedom above 0, got ${degrees}`);
}

function checkShare(share: number): void {
  if (!(share > 0 && share < 1)) throw new RangeError(`Expected a share between 0 and 1, got ${share}`);
}

/** P(Z <= z). */
export function normalCdf(z: number): number {
  const tail = 0.5 * (1 - incompleteGamma(0.5, (z * z) / 2));
  return z > 0 ? 1 - tail : tail;
}

/** The z below which the share lies. */
export function normalQuantile(share: number): number {
  checkShare(share);
  return bisect(-10, 10, (at) => normalCdf(at) < share);
}

/** P(chi-square > x). */
export function chiSquareTail(x: number, degrees: number): number {
  checkDegrees(degrees);
  return 1 - incompleteGamma(degrees / 2, x / 2);
}

/** P(T <= t) with the given degrees of freedom. */
export function studentCdf(t: number, degrees: number): number {
  checkDegrees(degrees);
  const tail = 0.5 * incompleteBeta(degrees / (degrees + t * t), degrees / 2, 0.5);
  return t > 0 ? 1 - tail : tail;
}

/** The t below which the share lies. */
export function studentQuantile(share: number, degrees: number): number {
  checkShare(share);
  if (share < 0.5) return -studentQuantile(1 - share, degrees);
  let high = 2;
  while (studentCdf(high, degrees) < share) high *= 2;
  return bisect(0, high, (at) => studentCdf(at, degrees) < share);
}

/** The chi-square value below which the share lies. */
export function chiSquareQuantile(share: number, degrees: number): number {
  checkShare(share);
  checkDegrees(degrees);
  let high = degrees + 10;
  while (incompleteGamma(degrees / 2, high / 2) < share) high *= 2;
  return bisect(0, high, (at) => incompleteGamma(degrees / 2, at / 2) < share);
}

/** Density of sqrt(chi-square / degrees) at s: the distribution of an estimated scatter divided by the true one. */
export function scatterDensity(s: number, degrees: number): number {
  if (s <= 0) return 0;
  const half = degrees / 2;
  return Math.exp(Math.LN2 + half * Math.log(half) - logGamma(half) + (degrees - 1) * Math.log(s) - half * s * s);
}
