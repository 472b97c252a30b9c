// Whitening against closed forms: the likelihood of AR(1) plus white noise from its full covariance matrix.
import { describe, expect, test } from "vitest";
import { createWhitener } from "../../../src/shared/align/noise-model.ts";
import { random } from "./gentle-drive.ts";

/** log det and x' C^-1 x by plain Cholesky of the dense covariance. */
function dense(tS: readonly number[], ratio: number, correlationS: number, x: readonly number[]): { logDet: number; form: number } {
  const n = tS.length;
  const lower = tS.map((a, i) => tS.map((b, j) => ratio * Math.exp(-Math.abs(a - b) / correlationS) + (i === j ? 1 : 0)));
  const y: number[] = [];
  let logDet = 0;
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      for (let k = 0; k < j; k++) lower[i][j] -= lower[i][k] * lower[j][k];
      lower[i][j] = i === j ? Math.sqrt(lower[i][i]) : lower[i][j] / lower[j][j];
    }
    logDet += 2 * Math.log(lower[i][i]);
    y.push((x[i] - lower[i].slice(0, i).reduce((sum, value, k) => sum + value * y[k], 0)) / lower[i][i]);
  }
  return { logDet, form: y.reduce((sum, value) => sum + value * value, 0) };
}

describe("createWhitener()", () => {
  test.each([
    { ratio: 0.3, correlationS: 0.4 },
    { ratio: 3, correlationS: 2.5 },
    { ratio: 200, correlationS: 15 },
  ])("gives the determinant and the quadratic form of the full covariance: $ratio, $correlationS s", (shape) => {
    const { normal, uniform } = random(3);
    const tS = Array.from({ length: 40 }, (_, i) => i * 0.1 + 0.03 * uniform() + (i > 20 ? 7 : 0));
    const x = tS.map(() => normal());
    const whitener = createWhitener(tS, shape);
    const column = Float64Array.from(x);
    whitener.whiten(column);
    const expected = dense(tS, shape.ratio, shape.correlationS, x);
    expect(whitener.logDeterminant).toBeCloseTo(expected.logDet, 9);
    expect(column.reduce((sum, value) => sum + value * value, 0)).toBeCloseTo(expected.form, 9);
  });

  test("leaves white noise as it is", () => {
    const column = Float64Array.of(1, -2, 3);
    createWhitener([0, 1, 2], { ratio: 0, correlationS: 0 }).whiten(column);
    expect([...column]).toEqual([1, -2, 3]);
  });
});
