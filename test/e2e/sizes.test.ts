/**
 * The passenger's view in every state at every size, in Chromium: no word is cut, none stands over another, nothing moves sideways, Abort and
 * Arm are whole in view, and no state moves Abort.
 */
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import type { RunRow } from "../../src/shared/contract/contract.ts";
import { LONG_LABELS } from "../support/crowded-day.ts";
import { REST } from "../support/live-event.ts";
import { browserPath } from "./support/browser.ts";
import { NO_NOTICES, NOTICES, statesUnder } from "./support/live-states.ts";
import { type StagedDay, stageDay } from "./support/staged-day.ts";

describe.skipIf(browserPath === null)("the passenger's view at every size, in Chromium", () => {
  let day: StagedDay;
  beforeAll(async () => {
    day = await stageDay();
  });
  afterAll(async () => {
    await day?.end();
    expect(day?.staged.trouble).toEqual([]);
  });

  const drive = async (label: string, named: string, run: RunRow) => {
    await day.go("drive");
    // A launch of the states before is no news here.
    await day.staged.page.reload();
    await day.staged.page.locator("body[data-page=drive]").waitFor({ state: "attached" });
    if (named === "two notices") await day.tell(...NOTICES);
    const faults: string[] = [];
    for (const { name, events, drawn = [] } of statesUnder(label, run)) {
      await day.tell(...events);
      faults.push(...(await day.sweep(`drive, ${name}, ${named}`, { oneScreen: true, drawn })));
    }
    return faults;
  };
  const lastRun = async () => ((await day.core.request("runs.list", {})) as readonly RunRow[]).at(-1) as RunRow;

  test("the passenger's view in every state", async () => {
    await day.tell(REST);
    expect(await drive("traction control on", "a short label", await lastRun())).toEqual([]);
  });

  test("the passenger's view under a label of 200 letters, and with two notices", async () => {
    const run = await lastRun();
    const faults = await drive(LONG_LABELS[0], "a long label", run);
    faults.push(...(await drive("traction control on", "two notices", run)));
    await day.tell(...NO_NOTICES);
    expect(faults).toEqual([]);
  });
});
