/**
 * The band's factor, solution and inverse against the dense Cholesky (itself tested on a worked example), and against a closed form: the
 * inverse of tridiag(-1, 2, -1) has i (n + 1 - i) / (n + 1) on its diagonal.
 */
import { expect, test } from "vitest";
import { addToBand, bandCholesky, emptyBand, inverseDiagonal, solveBand } from "../../../src/shared/kernel/band-cholesky.ts";
import { choleskyOf, solveCholesky } from "../../../src/shared/kernel/cholesky.ts";
import { createRandom } from "../../support/second-car/random.ts";

test("solveBand() and inverseDiagonal() agree with the dense solution", () => {
  const random = createRandom(4);
  const n = 23;
  const band = emptyBand(n, 2);
  const dense = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    for (let j = Math.max(0, i - 2); j <= i; j++) {
      const value = i === j ? random.between(5, 7) : random.between(-1, 1);
      addToBand(band, i, j, value);
      dense[i * n + j] = value;
      dense[j * n + i] = value;
    }
  }
  const b = Array.from({ length: n }, () => random.between(-3, 3));
  const [lower, full] = [bandCholesky(band), choleskyOf(dense, n)];
  if (!lower || !full) throw new Error("Expected both factors");
  const expected = solveCholesky(full, n, b);
  solveBand(lower, b).forEach((x, i) => {
    expect(x).toBeCloseTo(expected[i], 12);
  });
  inverseDiagonal(lower).forEach((x, i) => {
    const unit = new Float64Array(n);
    unit[i] = 1;
    expect(x).toBeCloseTo(solveCholesky(full, n, unit)[i], 12);
  });
});

test("inverseDiagonal() gives i (n + 1 - i) / (n + 1) for second differences", () => {
  const n = 9;
  const band = emptyBand(n, 1);
  for (let i = 0; i < n; i++) {
    addToBand(band, i, i, 2);
    if (i > 0) addToBand(band, i, i - 1, -1);
  }
  const lower = bandCholesky(band);
  if (!lower) throw new Error("Expected a factor");
  inverseDiagonal(lower).forEach((x, k) => {
    expect(x).toBeCloseTo(((k + 1) * (n - k)) / (n + 1), 12);
  });
});

test("bandCholesky() refuses what is not positive definite", () => {
  const band = emptyBand(2, 1);
  addToBand(band, 0, 0, 1);
  addToBand(band, 1, 0, 2);
  addToBand(band, 1, 1, 1);
  expect(bandCholesky(band)).toBeNull();
});
