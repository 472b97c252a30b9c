/** Flags reach people in words, never by the names of the code ("slowReceiver"). The words are the project's own; no published source. */
import { expect, test } from "vitest";
import { runSentence } from "../../../src/renderer/pages/runs/run-words.ts";
import { flagsTable } from "../../../src/shared/report/report-tables.ts";
import { flagList, flagWords, typedFlag } from "../../../src/shared/run/flag-words.ts";
import type { FlagName } from "../../../src/shared/run/run.ts";
import { KMH_AND_M } from "../../../src/shared/kernel/shown-units.ts";
import { reportDay } from "../report/report-day.fixture.ts";

const RAW: readonly FlagName[] = ["slowReceiver", "unpaired", "derated", "frames", "switched", "receiver"];
const NAMES_OF_THE_CODE = /slowReceiver|unpaired|derated|\bframes:/;
const flags = RAW.map((flag) => ({ flag, why: "So it was." }));

test("every flag has words without a name of the code in them, and the typed words lead back to the flag", () => {
  for (const flag of RAW) {
    expect(flagWords({ flag })).not.toMatch(/[A-Z]|unpaired|derated/);
    expect(typedFlag(flagWords({ flag }))).toBe(flag);
    expect(typedFlag(flag)).toBe(flag);
  }
  expect(flagList(flags)).toBe("slow receiver, no return run, torque limited, bus gap, control switched, receiver gap");
});

test("a run's sentence and the report's table say the words", () => {
  const [run] = reportDay().runs;
  const row = { ...run, id: 1, courseDeg: 90, final: true, seconds: 4.4, use: true, label: "on", flags } as unknown as Parameters<
    typeof runSentence
  >[0];
  const said = [runSentence(row), String(flagsTable([{ ...run!, flags }], KMH_AND_M))];
  for (const text of said) {
    expect(text).toContain("slow receiver");
    expect(text).not.toMatch(NAMES_OF_THE_CODE);
  }
});
