/** Cholesky against a worked example: [4 12 -16; 12 37 -43; -16 -43 98] = L L' with L = [2; 6 1; -8 5 3] (encyclopaedia example, from memory). */
import { expect, test } from "vitest";
import { choleskyOf, logDeterminant, solveCholesky } from "../../../src/shared/kernel/cholesky.ts";

const MATRIX = Float64Array.from([4, 12, -16, 12, 37, -43, -16, -43, 98]);

test("choleskyOf() gives the factor, solve and determinant of the worked example", () => {
  const lower = choleskyOf(MATRIX, 3);
  expect(lower && [...lower]).toEqual([2, 0, 0, 6, 1, 0, -8, 5, 3]);
  if (!lower) return;
  expect(logDeterminant(lower, 3)).toBeCloseTo(Math.log(36), 12);
  // MATRIX times (1, 2, 3).
  expect([...solveCholesky(lower, 3, [-20, -43, 192])].map((x) => Math.round(x * 1e9) / 1e9)).toEqual([1, 2, 3]);
});

test("choleskyOf() refuses what is not positive definite", () => {
  expect(choleskyOf(Float64Array.from([1, 2, 2, 1]), 2)).toBeNull();
  expect(choleskyOf(Float64Array.from([Number.NaN]), 1)).toBeNull();
});
