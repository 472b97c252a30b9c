import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { evenly } from "../../../src/shared/kernel/evenly.ts";

describe("evenly", () => {
  it("leaves a short list as it is", () => {
    const three = [1, 2, 3];
    expect(evenly(three, 3)).toBe(three);
  });

  it("takes places of a long list that lie apart by the same number, less or more one, from its beginning on", () => {
    fc.assert(
      fc.property(fc.integer({ min: 2, max: 60 }), fc.integer({ min: 1, max: 700 }), (most, longer) => {
        const all = Array.from({ length: most + longer }, (_, i) => i);
        const some = evenly(all, most);
        expect(some).toHaveLength(most);
        expect(some[0]).toBe(0);
        const steps = some.map((at, i) => (some[i + 1] ?? all.length) - at);
        expect(Math.max(...steps) - Math.min(...steps)).toBeLessThanOrEqual(1);
      }),
    );
  });
});
