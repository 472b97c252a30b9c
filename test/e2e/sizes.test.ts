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
import { useScheme } from "./support/scheme.ts";
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

  test("a car that stands is drawn once, however often it is told of; a value, a size and a scheme draw it anew", async () => {
    const { page } = day.staged;
    await day.go("drive");
    await day.tell({ ...REST, state: "armed" });
    const drawn = (doing: () => Promise<unknown>) =>
      page
        .evaluate(() => Object.assign(window, { cleared: 0 }))
        .then(async () => {
          await doing();
          await day.staged.settled();
          await day.staged.settled();
          return page.evaluate(() => (window as unknown as { cleared: number }).cleared);
        });
    await page.evaluate(() => {
      const proto = CanvasRenderingContext2D.prototype;
      const { clearRect } = proto;
      proto.clearRect = function (this: CanvasRenderingContext2D, ...at) {
        (window as unknown as { cleared: number }).cleared += 1;
        clearRect.apply(this, at);
      };
    });
    await day.staged.settled();
    expect(await drawn(async () => undefined)).toBe(0);
    // The three canvases.
    expect(await drawn(() => day.tell({ ...REST, state: "armed", groundSpeedMps: 0.3 }))).toBeGreaterThanOrEqual(3);
    expect(await drawn(() => page.setViewportSize({ width: 960, height: 600 }))).toBeGreaterThanOrEqual(3);
    expect(await drawn(() => useScheme(page, "sun"))).toBeGreaterThanOrEqual(3);
    await useScheme(page, "day");
  });
});
