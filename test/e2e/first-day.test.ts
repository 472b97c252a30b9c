/**
 * The guided first day of a new user: an empty set-up, two ports (PTYs in real time), the keyboard, no README. A silent port, a wrong baud,
 * a wrong bit rate, exchanged ports and a reversed motor are each named by Gripbook; it ends with a timed launch.
 */
import { writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { carSignalFile } from "../../src/shared/simulation/car-files.ts";
import { makeFirstDay } from "../support/crowded-day.ts";
import { type FaultyDevices, startFaultyDevices } from "../support/faulty-devices.ts";
import { whyNoUart } from "../support/pty-device.ts";
import { axeFindings, WCAG_AA } from "./support/axe.ts";
import { browserPath, openBrowser, WAIT_MS } from "./support/browser.ts";
import { useScheme } from "./support/scheme.ts";
import { startVisit, type Visit } from "./support/visit.ts";

if (whyNoUart !== null) console.warn(`SKIPPED: ${whyNoUart}`);

/** The car's signal file as somebody wrote it who counted the motor in the other direction. */
function reversedFile(): string {
  const text = carSignalFile();
  const reversed = text.replace(/(SG_ MotorSpeed : \S+ \()([\d.]+),([\d.-]+)\)/, "$1-$2,$3)");
  expect(reversed).not.toBe(text);
  return reversed;
}

/** Points of a small trace that is about full, enough for suggestions. */
const HALF_A_MINUTE = 50;

/** Longer than ports take to be opened anew. */
const STEADY_MS = 6000;
const LOOK_MS = 250;

async function sentence(page: Page, words: RegExp, timeout = 30_000): Promise<void> {
  try {
    await page.locator("h1:visible", { hasText: words }).waitFor({ timeout });
  } catch (error) {
    // What it says instead is what one wants to know.
    throw new Error(`The page says ${JSON.stringify(await page.locator("h1:visible, .lead:visible, .bar:visible").allTextContents())}`, {
      cause: error,
    });
  }
}

describe.skipIf(browserPath === null || whyNoUart !== null)("a first day with two ports", () => {
  let browser: Browser;
  let visit: Visit;
  let devices: FaultyDevices;
  beforeAll(async () => {
    browser = await openBrowser();
    visit = await startVisit(browser, "own");
    devices = await startFaultyDevices({ baud: 38400, bitrateCommand: "S5", seed: 4 });
  });
  afterAll(async () => {
    await visit?.shot("first-last");
    await visit?.end();
    await devices?.end();
    await browser?.close();
  });

  async function usePort(page: Page, key: string, path: string, baud = ""): Promise<void> {
    await page.keyboard.press(key);
    await page.locator("dialog .ports").waitFor();
    await page.keyboard.press("Control+a");
    await page.keyboard.type(path);
    await page.keyboard.press("Tab");
    await page.keyboard.type(baud);
    await page.keyboard.press("Enter");
    await page.locator("dialog").waitFor({ state: "detached", timeout: WAIT_MS });
  }

  test("begins with the signal file, and names a silent port, swapped ports, a wrong baud and a wrong bit rate", async () => {
    const { page } = visit;
    // From the start: intercepting choosers takes the browser a moment.
    page.on(
      "filechooser",
      (chooser) => void chooser.setFiles({ name: "own.dbc", mimeType: "text/plain", buffer: Buffer.from(reversedFile()) }),
    );
    await page.getByRole("button", { name: "I have read this" }).press("Enter");
    await sentence(page, /First, the car.s signal file/);
    await visit.shot("first-1-empty");
    await page.keyboard.press("Enter");
    await sentence(page, /Where is the receiver/);
    // Silent: the receiver has no power yet.
    devices.mute = true;
    await usePort(page, "Enter", devices.receiver.path);
    await sentence(page, /receiver.s port is silent/);
    await visit.shot("first-2-silent");
    devices.mute = false;
    // Exchanged: each device on the other's port.
    await usePort(page, "f", devices.adapter.path);
    await usePort(page, "g", devices.receiver.path);
    await sentence(page, /two ports are swapped/, WAIT_MS);
    await visit.shot("first-3-swapped");
    expect(devices.receiver.written.length, "bytes written to the receiver").toBe(0);
    await page.keyboard.press("Enter");
    await sentence(page, /bus is silent|car is not known yet/, WAIT_MS);
    expect(devices.receiver.written.length, "bytes written to the receiver").toBe(0);
    // Listening is cancelled: the first Esc ends it and keeps the dialog, the next closes it, and all is as before.
    await page.keyboard.press("f");
    await page.locator("dialog .ports").waitFor();
    await page.keyboard.press("Control+a");
    await page.keyboard.type(devices.receiver.path);
    await page.keyboard.press("Tab");
    await page.keyboard.type("4800");
    await page.keyboard.press("Enter");
    await page.locator("dialog .work", { hasText: /Listening on .* at \d+ baud/ }).waitFor({ timeout: WAIT_MS });
    await page.keyboard.press("Escape");
    await page.locator("dialog [role=status]", { hasText: "Cancelled: everything is as it was before" }).waitFor();
    await page.keyboard.press("Escape");
    await page.locator("dialog").waitFor({ state: "detached" });
    await sentence(page, /bus is silent|car is not known yet/, WAIT_MS);
    // The same on the page itself, with its progress at the foot.
    await page.keyboard.press("k");
    await page.locator("body > .work", { hasText: "Listening on both ports" }).waitFor({ timeout: WAIT_MS });
    await page.keyboard.press("Escape");
    await page.locator("body > .work").waitFor({ state: "hidden" });
    await sentence(page, /bus is silent|car is not known yet/, WAIT_MS);
    // By now the car may have moved off, which is told as well.
    expect(await page.locator(".bar:visible").filter({ hasNotText: "The car moves" }).count()).toBe(0);
    // Wrong baud: typed by hand, named with the right one.
    await usePort(page, "f", devices.receiver.path, "9600");
    await sentence(page, /receiver.s baud is wrong/, WAIT_MS);
    expect(await page.locator(".wiring .lead").first().textContent()).toMatch(/talks at 38400 baud, the set-up says 9600/);
    await visit.shot("first-4-baud");
    await page.keyboard.press("Enter");
    // The bus runs at 250 kbit/s, the set-up starts from 500: asked for, and only with the drive disabled.
    await sentence(page, /bus is silent/, WAIT_MS);
    await page.keyboard.press("Enter");
    await page.locator("dialog").waitFor();
    await page.keyboard.press("Enter");
    await page.locator("dialog .reason", { hasText: "Confirm first" }).waitFor();
    await page.keyboard.press("Shift+Tab");
    await page.locator("dialog input[type=checkbox]").focus();
    await page.keyboard.press("Space");
    await page.keyboard.press("Enter");
    await page.locator("dialog").waitFor({ state: "detached", timeout: WAIT_MS });
    await sentence(page, /car is not known yet/, WAIT_MS);
    await visit.shot("first-5-car-missing");
    expect(visit.trouble).toEqual([]);
  });

  test("takes the car's figures, suggests signals by behaviour and names the reversed motor", async () => {
    const { page } = visit;
    await page.keyboard.press("Enter");
    await page.locator(".stations").waitFor();
    const fill = async (label: string, text: string) => {
      await page.getByLabel(label).focus();
      await page.keyboard.type(text);
    };
    await fill("Gear ratio", "9.04");
    await page.getByLabel("Driven", { exact: true }).focus();
    await page.keyboard.type("rear");
    await fill("Tyre size", "265/35R19");
    await fill("Name", "Odrel");
    await fill("Mass, people in", "1480");
    await page.keyboard.press("Enter");
    await sentence(page, /Odrel.s figures are in/);
    await visit.shot("first-6-car");
    await page.locator("body").evaluate(() => (document.activeElement as HTMLElement).blur());
    await page.keyboard.press("Control+2");
    await sentence(page, /Motor speed has no signal yet/);
    for (const [title, signal] of [
      ["Motor speed", "MotorState.MotorSpeed"],
      ["Torque asked", "TorquePath.Torque"],
      ["Torque delivered", "MotorState.TorqueDelivered"],
      ["Pedal", "DriverInputs.PedalPosition"],
    ] as const) {
      await sentence(page, new RegExp(`${title} has no signal yet`));
      await page.keyboard.press("p");
      const first = page.locator("dialog .signal").first();
      await first.filter({ hasText: signal }).filter({ hasText: "suggested:" }).waitFor({ timeout: WAIT_MS });
      if (title === "Motor speed")
        await page.waitForFunction(
          (least) => (document.querySelector("dialog .small-trace path")?.getAttribute("d")?.split("L").length ?? 0) >= least,
          HALF_A_MINUTE,
          { timeout: WAIT_MS },
        );
      expect(await first.locator(".name").textContent()).toContain(signal);
      if (title === "Motor speed") {
        // Suggested with its sign reversed. A person who does not believe it is refused, with the reason and the remedy.
        await page.getByLabel("Invert its sign").focus();
        await page.keyboard.press("Space");
        await visit.shot("first-7-pick");
        await page.keyboard.press("Enter");
        await page.locator("dialog .reason:visible", { hasText: /\S/ }).waitFor();
        expect(await page.locator("dialog .reason").textContent()).toContain("sign is reversed");
        await visit.shot("first-8-reversed");
        expect(await page.getByRole("button", { name: "Use it all the same" }).isVisible()).toBe(false);
        // The button for the remedy has the focus.
        await page.keyboard.press("Enter");
      } else await page.keyboard.press("Enter");
      await page.locator("dialog").waitFor({ state: "detached", timeout: WAIT_MS });
    }
    await sentence(page, /every (needed )?signal agrees|short drive checks/, WAIT_MS);
    await visit.shot("first-9-wired");
    expect(await axeFindings(page, WCAG_AA)).toEqual([]);
    expect(visit.trouble).toEqual([]);
  });

  test("both screens hold in every scheme; on a phone they only show", async () => {
    const { page } = visit;
    // A scheme changes colours alone, so that one size tells of night and sun.
    for (const { width, height, schemes } of [
      { width: 1280, height: 720, schemes: ["night", "sun", "day"] },
      { width: 390, height: 844, schemes: ["day"] },
    ] as const) {
      await page.setViewportSize({ width, height });
      for (const scheme of schemes) {
        await useScheme(page, scheme);
        for (const name of ["car", "wiring"] as const) {
          await page.evaluate((hash) => {
            window.location.hash = hash;
          }, name);
          await page.locator(`body[data-page=${name}]`).waitFor({ state: "attached" });
          await page.locator(`.page.${name} h1`, { hasText: /\S/ }).waitFor();
          await visit.shot(`${name}-${scheme}-${width}`);
          expect(await axeFindings(page, WCAG_AA), `${name} ${scheme} ${width}`).toEqual([]);
          expect(await page.evaluate(() => document.documentElement.scrollWidth <= window.innerWidth)).toBe(true);
          expect(await page.locator(`.page.${name} .edits:visible`).count()).toBe(width < 700 ? 0 : 1);
        }
      }
    }
    await page.keyboard.press("p");
    expect(await page.locator("dialog[open]").count()).toBe(0);
    await page.setViewportSize({ width: 1280, height: 720 });
  });

  test("an edit is undone and done again", async () => {
    const { page } = visit;
    await page.keyboard.press("Control+z");
    await sentence(page, /Pedal has no signal yet/);
    await page.keyboard.press("Control+Shift+Z");
    await sentence(page, /every (needed )?signal agrees|short drive checks/);
  });

  test("goes by the cautions to a timed launch", async () => {
    const { page } = visit;
    // axe moves the focus about.
    await page.evaluate(() => (document.activeElement as HTMLElement).blur());
    // The last edit opened both ports anew: until their bytes are back the first sentence is about the port, and Enter does what that one offers.
    const untilMs = performance.now() + WAIT_MS;
    for (let steadyMs = 0; steadyMs < STEADY_MS; steadyMs += LOOK_MS) {
      await page.waitForTimeout(LOOK_MS);
      if (performance.now() > untilMs) throw new Error(`Not steady: ${await page.locator("h1:visible").allTextContents()}`);
      if ((await page.locator("h1:visible", { hasText: /every (needed )?signal agrees|short drive checks/ }).count()) === 0) steadyMs = 0;
    }
    await page.keyboard.press("Enter");
    await page.locator("body[data-page=before]").waitFor({ state: "attached" });
    await visit.shot("first-10-before");
    await page.keyboard.press("Enter");
    await page.locator(".plate[data-state=idle]").waitFor();
    await page.keyboard.press("Space");
    devices.launch();
    await page.locator(".plate[data-state=standing]").waitFor({ timeout: WAIT_MS });
    await page.locator(".plate[data-state=launched]").waitFor({ timeout: WAIT_MS });
    await page.locator(".foot .next", { hasText: "Run 1 is stored" }).waitFor({ timeout: WAIT_MS });
    await visit.shot("first-11-stored");
    await page.keyboard.press("Escape");
    await page.keyboard.press("l");
    await page.locator(".gates tr.head").waitFor();
    expect(await page.locator(".gates tr.head").textContent()).toMatch(/\d\.\d{3}/);
    await visit.shot("first-12-run");
    expect(Buffer.from(devices.receiver.written).length, "bytes written to the receiver").toBe(0);
    expect(devices.adapter.written.toString("latin1")).toMatch(/^((C|S[0-8]|Z[01]|L|V|N|F)\r)*$/);
    expect(visit.trouble).toEqual([]);
  });
});

describe.skipIf(browserPath === null)("from the simulated car to one's own", () => {
  test("one key leads to an empty set-up with a book of its own, and Drive says what is missing", async () => {
    const browser = await openBrowser();
    const visit = await startVisit(browser, "simulated", {}, makeFirstDay);
    const { page } = visit;
    try {
      await page.getByRole("button", { name: "I have read this" }).press("Enter");
      await page.locator("body[data-page=runs]").waitFor({ state: "attached" });
      await page.keyboard.press("Control+2");
      await sentence(page, /simulated car is wired/);
      await visit.shot("own-1-simulated");
      await page.keyboard.press("Enter");
      await sentence(page, /First, the car.s signal file/);
      await page.locator(".frame-day", { hasText: "new car" }).waitFor();
      expect(await page.locator(".where").textContent()).toMatch(/Kept in .*own-car\.json/);
      await page.keyboard.press("Control+5");
      await page.getByText("No run in this book yet").waitFor();
      await page.keyboard.press("Control+4");
      await page.locator(".plate[data-state=idle]").waitFor();
      await page.keyboard.press("Space");
      await visit.shot("own-2-not-ready");
      await page.locator("body", { hasText: /no receiver|Not ready to arm/i }).waitFor();
      expect(await page.locator(".plate").getAttribute("data-state")).toBe("idle");
      expect(visit.trouble).toEqual([]);
    } finally {
      await visit.end();
      await browser.close();
    }
  });

  test("the next start offers the car that was wired last; one key opens its set-up and its book", async () => {
    const browser = await openBrowser();
    let setUp = "";
    const visit = await startVisit(browser, "simulated", {}, (book) => {
      const folder = dirname(book);
      setUp = join(folder, "odrel.json");
      writeFileSync(setUp, JSON.stringify({ car: { name: "Odrel of ours" }, sources: {}, database: [], signals: {} }));
      writeFileSync(join(folder, "last-car.json"), JSON.stringify({ setUpFile: setUp, bookFile: join(folder, "ours.gripbook") }));
    });
    const { page } = visit;
    try {
      await page.getByRole("button", { name: "I have read this" }).press("Enter");
      await page.locator(".offer", { hasText: `Your own car, Odrel of ours, is set up in ${setUp}.` }).waitFor();
      await visit.shot("own-3-offered");
      await page.setViewportSize({ width: 390, height: 844 });
      await visit.shot("own-3-offered-390");
      expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(390);
      await page.setViewportSize({ width: 1280, height: 720 });
      // The simulated day may still be running: it ends here, and what was driven stays in its own book.
      await page.locator(".offer").getByRole("button", { name: "Use my own car" }).press("Enter");
      await page.locator(".frame-day", { hasText: "Odrel of ours" }).waitFor({ timeout: WAIT_MS });
      expect(await page.locator(".offer").count()).toBe(0);
      await page.keyboard.press("Control+2");
      await sentence(page, /First, the car.s signal file/);
      expect(await page.locator(".where").textContent()).toContain(setUp);
      expect(visit.trouble).toEqual([]);
    } finally {
      await visit.end();
      await browser.close();
    }
  });
});
