/** Lost time on one day of known truth a class: each cause within the promised 0.05 s + 10 % of what an independent quickest launch gives; `npm run claims` has the hundreds. */
import { describe, expect, test } from "vitest";
import { judgeLossDay, lossTruths } from "../../claims/judge-loss-day.ts";
import { isNear } from "../../claims/loss-sweep.ts";
import { tuneDay } from "../../claims/tune-day.ts";
import { TUNE_CLASSES } from "../../claims/tune-sweep.ts";

const SEED = 702;

describe.each(TUNE_CLASSES.filter(({ losses }) => losses !== undefined))("$losses", ({ day }) => {
  test("each cause lies near the truth, and no figure two half widths off", { timeout: 600_000 }, () => {
    const known = tuneDay(SEED, day);
    const { outcomes, untold } = judgeLossDay(known, lossTruths(known));
    expect(outcomes.length + 5 * untold).toBe(10);
    for (const outcome of outcomes) {
      const words = `${outcome.figure}: ${outcome.error.toFixed(3)} s off, truth ${outcome.truth.toFixed(3)}`;
      expect(isNear(outcome), words).toBe(true);
      expect(Math.abs(outcome.error), words).toBeLessThan(2 * Math.max(outcome.plusMinus95, 0.02));
    }
  });
});
