/** The fault run in short: every fault once or a few times. The whole: `npm run faults`; its table: docs/faults.md. The outside reference is what was written to the ports. */
import { afterAll, describe, expect, test } from "vitest";
import { FAULTS } from "./all-faults.ts";
import { dropImportedDay } from "./books.ts";

for (const { name, whyNot } of FAULTS) if (whyNot !== null) console.warn(`skipped: ${name}: ${whyNot}`);

describe("faults", () => {
  afterAll(dropImportedDay);
  for (const fault of FAULTS)
    test.skipIf(fault.whyNot !== null)(`${fault.name}: ${fault.promise}`, async () => {
      expect((await fault.run(fault.short, false)).wrong).toEqual([]);
    });
});
