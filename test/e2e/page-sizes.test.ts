/**
 * Every page but the passenger's at every size, in Chromium, as it is on a day with a plan and long gates, then with labels of 200 letters,
 * and its dialogs: no word is cut, none stands over another, nothing moves sideways. And every page in every scheme: axe-core (WCAG 2.2 A
 * and AA), contrast from computed styles (1.4.3 asks 4.5; docs/look.md 7, and 18 in sun).
 */
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import type { RunRow } from "../../src/shared/contract/contract.ts";
import { LONG_LABELS } from "../support/crowded-day.ts";
import { REST } from "../support/live-event.ts";
import { axeFindings, WCAG_AA_AND_PRACTICE } from "./support/axe.ts";
import { browserPath, PAPER_WAIT_MS, WAIT_MS } from "./support/browser.ts";
import { useScheme } from "./support/scheme.ts";
import { contrast, spoken } from "./support/spoken.ts";
import { type StagedDay, stageDay } from "./support/staged-day.ts";

describe.skipIf(browserPath === null)("every page at every size, in Chromium", () => {
  let day: StagedDay;
  beforeAll(async () => {
    day = await stageDay();
    await day.tell(REST);
  });
  afterAll(async () => {
    await day?.end();
    expect(day?.staged.trouble).toEqual([]);
  });

  const press = (...keys: string[]) =>
    keys.reduce((before, key) => before.then(() => day.staged.page.keyboard.press(key)), Promise.resolve());
  const seen = (selector: string) => day.staged.page.locator(selector).first().waitFor({ timeout: WAIT_MS });
  const runs = async () => (await day.core.request("runs.list", {})) as readonly RunRow[];
  const wide = () => day.staged.page.setViewportSize({ width: 1280, height: 720 });

  /** Opens a page; `shown` is there once it has its figures. */
  async function open(page: string, shown: string): Promise<void> {
    await wide();
    await day.go(page);
    await seen(shown);
    if (page === "report") await day.staged.page.frameLocator(shown).locator("h1").waitFor({ timeout: PAPER_WAIT_MS });
    await day.staged.settled();
  }

  const PAGES = [
    ["car", ".stations"],
    ["wiring", ".page.wiring h1:not(:empty)"],
    ["before", ".page.before li, .page.before tr"],
    ["runs", '.run-body[aria-busy="false"]'],
    ["compare", ".page.compare h1:not(:empty)"],
    ["lost", ".page.lost h1:not(:empty)"],
    ["plan", ".page.plan h1:not(:empty)"],
  ] as const;

  async function everyPage(named: string, few = false): Promise<string[]> {
    const faults: string[] = [];
    for (const [page, shown] of PAGES) {
      await open(page, shown);
      faults.push(...(await day.sweep(`${page}, ${named}`, { few })));
    }
    // What stands in the report is looked at on paper (report-on-paper.test.ts), under long labels too.
    if (few) return faults;
    await open("report", ".page.report iframe");
    return [...faults, ...(await day.sweep(`report, ${named}`, { few }))];
  }

  test("every page", async () => {
    expect(await everyPage("a day")).toEqual([]);
  });

  test("Runs with a run laid over another, and with runs found by words", async () => {
    await open("runs", '.run-body[aria-busy="false"]');
    // A run is laid over once it is read, as a person does who sees it first.
    await press("[");
    await seen('.run-body[aria-busy="false"]');
    await press("l", "[");
    await seen('.run-body[aria-busy="false"] .readouts .under:not([hidden])');
    const faults = await day.sweep("runs, laid over");
    await wide();
    await press("l", "f");
    await seen("dialog[open] input, .find input:focus");
    faults.push(...(await day.sweep("runs, words to find", { few: true })));
    await press("Escape");
    expect(faults).toEqual([]);
  });

  test("Runs with several chosen, and their conditions", async () => {
    await open("runs", '.run-body[aria-busy="false"]');
    await wide();
    await press("Shift+V");
    await seen(".chosen-bar:not([hidden])");
    const faults = await day.sweep("runs, all chosen");
    await wide();
    await press("c");
    await seen("dialog[open].conditions");
    faults.push(...(await day.sweep("runs, conditions of several", { few: true })));
    await press("Escape");
    await day.staged.page.locator("dialog[open]").waitFor({ state: "detached" });
    await press("Escape");
    expect(faults).toEqual([]);
  });

  test("every dialog that a key opens", async () => {
    const faults: string[] = [];
    for (const [page, shown, keys] of [
      ["runs", '.run-body[aria-busy="false"]', ["F1", "e", "n", "c", "x"]],
      ["wiring", ".page.wiring h1:not(:empty)", ["F1"]],
      ["plan", ".page.plan h1:not(:empty)", ["a"]],
      ["drive", ".plate", ["F1", "e", "n"]],
    ] as const) {
      await open(page, shown);
      for (const key of keys) {
        await wide();
        await press(key);
        await seen("dialog[open]");
        faults.push(...(await day.sweep(`${page}, dialog ${key}`, { few: true })));
        await press("Escape");
        await day.staged.page.locator("dialog[open]").waitFor({ state: "detached" });
      }
    }
    expect(faults).toEqual([]);
  });

  test("the switch for the local network, off and on with its code", async () => {
    await open("runs", '.run-body[aria-busy="false"]');
    await wide();
    await press("F1");
    const dialog = day.staged.page.locator("dialog.keys");
    await dialog.getByText(/^This opens .* to every device/).waitFor();
    await dialog.getByRole("button", { name: "Turn on" }).click();
    await dialog.locator(".code").waitFor();
    await dialog.locator(".code").scrollIntoViewIfNeeded();
    const faults = await day.sweep("the code to scan", { few: true });
    await wide();
    await dialog.getByRole("button", { name: "Turn off" }).click();
    await dialog.locator(".code").waitFor({ state: "detached" });
    await press("Escape");
    await dialog.waitFor({ state: "detached" });
    expect(faults).toEqual([]);
  });

  // A scheme changes colours alone: one size tells of night and sun.
  test.each([
    {
      scheme: "day",
      sizes: [
        [1280, 720],
        [390, 844],
      ],
      least: 7,
    },
    { scheme: "night", sizes: [[1280, 720]], least: 7 },
    { scheme: "sun", sizes: [[1280, 720]], least: 18 },
  ] as const)("every page in the $scheme scheme: axe-core finds nothing, every text has its contrast", async ({ scheme, sizes, least }) => {
    const { page } = day.staged;
    await wide();
    await useScheme(page, scheme);
    const trouble: string[] = [];
    for (const [name, shown] of [...PAGES, ["drive", ".plate[data-state=idle]"], ["report", ".page.report iframe"]] as const) {
      await open(name, shown);
      for (const [width, height] of sizes) {
        await page.setViewportSize({ width, height });
        await day.staged.settled();
        trouble.push(...(await axeFindings(page, WCAG_AA_AND_PRACTICE)).map((found) => `${name} at ${width} ${found}`));
        const weak = (await spoken(page, "body")).filter((text) => contrast(text.ink, text.ground) < least);
        trouble.push(...weak.map((text) => `${name} at ${width}: "${text.text}" ${text.ink} on ${text.ground}`));
      }
    }
    await useScheme(page, "day");
    expect(trouble).toEqual([]);
  });

  test("every page with labels of 200 letters", async () => {
    const before = await runs();
    const labels = [...new Set(before.map(({ label }) => label))];
    for (const { id, label } of before) {
      const long = LONG_LABELS[labels.indexOf(label)];
      if (long !== undefined) await day.core.request("runs.edit", { edits: [{ run: id, label: long }] });
    }
    day.forget();
    await day.staged.page.reload();
    expect(await everyPage("labels of 200 letters", true)).toEqual([]);
  });
});
