/** Dates without the host's clock, against the platform's own calendar. */
import { expect, test } from "vitest";
import { isoText } from "../../../src/shared/simulation/utc-text.ts";

test("isoText() gives the platform's date for days of three centuries, leap days included", () => {
  const days = Array.from({ length: 2000 }, (_, i) => i * 47 + 3);
  for (const day of [...days, 11016, 11017, 47540, 47541, 104000]) {
    const ms = day * 86_400_000 + ((day * 7919) % 86_400_000);
    expect(isoText(ms * 1e3 + 123)).toBe(new Date(ms).toISOString().replace("Z", "123Z"));
  }
});
