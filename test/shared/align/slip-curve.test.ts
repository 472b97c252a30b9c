// The bent slip against two closed tyre models, solved for slip: the brush model (Pacejka, Tire and Vehicle Dynamics, ch. 3, from memory: F
// = mu N (1 - (1 - k/(3 mu N))^3), k = stiffness x slip) and the saturating exponential F = mu N (1 - exp(-k/(mu N))).
import { describe, expect, test } from "vitest";
import { bentTorque, bentTorqueByBend, openAtZeroForce, statementsOf } from "../../../src/shared/align/slip-curve.ts";

/** The model's slip over the slip of a straight line, at a share of the load and a friction. */
const brush = (share: number, mu: number) => (3 * mu * (1 - Math.cbrt(1 - share / mu))) / share;
const exponential = (share: number, mu: number) => (-mu * Math.log(1 - share / mu)) / share;

describe("bentTorque()", () => {
  test.each([
    ["brush", brush, 1 / 3],
    ["exponential", exponential, 1 / 2],
  ])("follows the %s model to 1.5 %% of slip up to 40 %% of grip, dry and wet", (_, model, bend) => {
    for (const mu of [1, 0.6])
      for (const used of [0.05, 0.1, 0.2, 0.3, 0.4]) {
        const share = used * mu;
        expect(Math.abs(bentTorque(100, share, bend / mu) / (100 * model(share, mu)) - 1)).toBeLessThan(0.015);
      }
  });

  test("is odd in torque, straight at no load, and its derivative is that of a difference", () => {
    expect(bentTorque(-50, 0.2, 0.4)).toBe(-bentTorque(50, 0.2, 0.4));
    expect(bentTorque(50, 0, 0.4)).toBe(50);
    const difference = (bentTorque(50, 0.2, 0.4001) - bentTorque(50, 0.2, 0.3999)) / 0.0002;
    expect(bentTorqueByBend(50, 0.2, 0.4)).toBeCloseTo(difference, 6);
  });
});

describe("statementsOf()", () => {
  test("says what a covariance says: the squares of the statements sum to its Mahalanobis form", () => {
    // Inverse of [[4, 2, 0], [2, 3, 1], [0, 1, 2]] (determinant 12) by cofactors.
    const known = { mean: [1, 2, 3] as const, covariance: [4, 2, 0, 2, 3, 1, 0, 1, 2] };
    const inverse = [5, -4, 2, -4, 8, -4, 2, -4, 8].map((value) => value / 12);
    const off = [0.3, -0.2, 0.5];
    const form = off.reduce((sum, a, i) => sum + off.reduce((inner, b, j) => inner + a * b * inverse[3 * i + j], 0), 0);
    const squares = statementsOf(known).map((row) => row.reduce((sum, weight, j) => sum + weight * off[j], 0) ** 2);
    expect(squares.reduce((sum, value) => sum + value, 0)).toBeCloseTo(form, 12);
    expect(() => statementsOf({ mean: [0, 0, 0], covariance: [1, 2, 0, 2, 1, 0, 0, 0, 1] })).toThrow(RangeError);
  });
});

describe("openAtZeroForce()", () => {
  test("covers what brush and exponential tyres leave between them, and grows with slip", () => {
    // Slip of a straight line over slip of either model: the error on one model of a bend fitted to the other.
    for (const mu of [1, 0.6]) {
      const share = 0.14;
      const apart = Math.abs(brush(share, mu) / (1 + share / (3 * mu)) - exponential(share, mu) / (1 + share / (2 * mu)));
      expect(openAtZeroForce(0.006, share / (2 * mu), 0)).toBeGreaterThan(0.006 * apart);
    }
    expect(openAtZeroForce(0.01, 0, 0.007)).toBeCloseTo(0.00007, 12);
    expect(openAtZeroForce(-0.02, 0.1, 0.007)).toBeCloseTo(2 * openAtZeroForce(0.01, 0.1, 0.007), 12);
  });
});
