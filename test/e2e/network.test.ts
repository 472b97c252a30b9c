/**
 * The page on the local network in a real Chromium: turned on under F1, its code read from the picture by another library than the one that
 * draws it (ISO/IEC 18004), opened at a phone's and a laptop's size. It shows what is live, and has nothing to arm, abort or edit with.
 */
import decode from "qr/decode.js";
import type { BrowserContextOptions, Page } from "playwright-core";
import { describe, expect, test } from "vitest";
import { ONLY_SHOWS } from "../../src/shared/contract/reach.ts";
import type { NetworkAnswers } from "../../src/shared/contract/network-contract.ts";
import { ownPrivateAddress } from "../support/private-address.ts";
import { addTimedRuns, WORKED_EXAMPLE } from "../support/timed-book.ts";
import { axeFindings } from "./support/axe.ts";
import { browserPath, WAIT_MS } from "./support/browser.ts";
import { startVisit, useVisit } from "./support/visit.ts";

/** The words of the code that the page shows, read from a picture of it as a camera would. */
async function scanned(page: Page): Promise<string> {
  const picture = (await page.locator(".code").screenshot()).toString("base64");
  const { width, height, data } = await page.evaluate(async (png) => {
    const image = new Image();
    image.src = `data:image/png;base64,${png}`;
    await image.decode();
    const canvas = document.createElement("canvas");
    [canvas.width, canvas.height] = [image.width, image.height];
    const context = canvas.getContext("2d") as CanvasRenderingContext2D;
    context.drawImage(image, 0, 0);
    return { width: image.width, height: image.height, data: [...context.getImageData(0, 0, image.width, image.height).data] };
  }, picture);
  return decode({ width, height, data: Uint8Array.from(data) });
}

describe.skipIf(browserPath === null || ownPrivateAddress === null)("the page on the local network, in Chromium", () => {
  const suite = useVisit("fake");

  /** A screen of its own, that has never been here; `trouble` is what no page may do. */
  async function screenAt(link: string, options: BrowserContextOptions) {
    const context = await suite.browser.newContext(options);
    context.setDefaultTimeout(WAIT_MS);
    const page = await context.newPage();
    const trouble: string[] = [];
    page.on("console", (message) => message.type() === "error" && trouble.push(message.text()));
    page.on("pageerror", (error) => trouble.push(error.message));
    await page.goto(link);
    await page.locator("body[data-page]").waitFor({ state: "attached" });
    return { page, trouble, close: () => context.close() };
  }

  const section = () => suite.visit.page.locator("dialog.keys");
  const turnOn = async () => {
    const { page } = suite.visit;
    // In an open dialog F1 opens the handbook.
    await page.locator("dialog[open]").waitFor({ state: "detached" });
    await page.keyboard.press("F1");
    await section().getByLabel("Address of this computer").selectOption(ownPrivateAddress);
    await section()
      .getByText(/This opens .* to every device in the network of/)
      .waitFor();
    await section().getByRole("button", { name: "Turn on" }).click();
    await section().locator(".code").waitFor();
  };
  const liveState = async () => {
    const { page } = suite.visit;
    return page.locator(".plate").getAttribute("data-state");
  };

  test("off at first; what it opens is said in words; a phone that scans the code sees the live car and has nothing to arm with", async () => {
    const { page, shot } = suite.visit;
    await page.keyboard.press("Control+4");
    await page.keyboard.press("F1");
    await section().getByText("Off. It shows these screens on a phone").waitFor();
    await section().getByText("can never arm, abort, label, edit or print").waitFor();
    await section().getByText("The way is not encrypted").waitFor();
    expect(await section().locator(".code").count()).toBe(0);
    await page.keyboard.press("Escape");
    await turnOn();
    expect(await axeFindings(page, undefined, "dialog")).toEqual([]);
    await section().locator(".code").scrollIntoViewIfNeeded();
    await shot("network-code");
    const link = await scanned(page);
    expect(link).toBe(await section().locator(".link").textContent());
    expect(new URL(link).hostname.replaceAll(/[[\]]/g, "")).toBe(ownPrivateAddress);

    const phone = await screenAt(link, { viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true });
    try {
      // Used: the laptop says so, and shows it no more.
      await section().getByText("1 screen is connected. The code was used").waitFor();
      expect(await section().locator(".code").count()).toBe(0);
      await page.keyboard.press("Escape");
      await phone.page.goto(`${phone.page.url().split("#")[0]}#drive`);
      await phone.page.locator(".plate[data-state=idle]").waitFor();
      await phone.page.getByText("Arm, abort and label at the laptop").waitFor();
      for (const name of [/^Arm/, /^Abort/, /^Note/, /^Drive again/])
        expect(await phone.page.getByRole("button", { name }).count(), String(name)).toBe(0);
      await phone.page.keyboard.press("Space");
      await phone.page.getByText(ONLY_SHOWS).waitFor();
      expect(await liveState()).toBe("idle");
      await phone.page.getByRole("button", { name: "Close" }).first().click();
      // Live: what the laptop arms, the phone shows, through the launch; the word to the driver stays the passenger's.
      await phone.page.evaluate(() => {
        const plate = document.querySelector<HTMLElement>(".plate");
        const next = document.querySelector(".next");
        const seen: string[] = [];
        const look = () => seen.push(`${plate?.dataset.state}: ${next?.textContent}`);
        new MutationObserver(look).observe(document.querySelector(".drive") as Element, {
          subtree: true,
          childList: true,
          attributes: true,
        });
        (window as unknown as { seen: string[] }).seen = seen;
      });
      const seen = async () => phone.page.evaluate(() => [...new Set((window as unknown as { seen: string[] }).seen)]);
      // On a busy machine a state that lasts two seconds may never reach the phone: it is then driven again.
      do {
        await suite.visit.running.core.request("drive.arm", {});
        await phone.page.locator(".plate[data-state=launched]").waitFor({ timeout: WAIT_MS });
        await phone.page.locator(".plate[data-state=done]").waitFor({ timeout: WAIT_MS });
      } while (!(await seen()).some((one) => one.startsWith("standing: ")));
      const told = await seen();
      expect(told.filter((one) => one.startsWith("standing: "))).toEqual(["standing: The passenger at the laptop gives the all-clear"]);
      expect(told.join()).not.toMatch(/Esc|Space|Digits|on your word/);
      await phone.page.screenshot({ path: "test-output/network-phone.png" });
      expect(await phone.page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(390);
      // The code that let it in lets in nobody else.
      const second = await suite.browser.newContext();
      const late = await second.newPage();
      expect((await late.goto(link))?.status()).toBe(403);
      await late.getByText("This code was used before. Scan a new code at the laptop").waitFor();
      await second.close();
      expect(phone.trouble).toEqual([]);
    } finally {
      await phone.close();
    }
  });

  test("at a laptop's size it has no button or key that arms, labels, edits or switches, on any page, and the server agrees", async () => {
    const visit = await startVisit(suite.browser, "simulated", {}, (file) => addTimedRuns(file, WORKED_EXAMPLE));
    const opened = await visit.running.network.request("network.on", { address: ownPrivateAddress });
    const other = await screenAt((opened as NetworkAnswers["network.on"]).link, { viewport: { width: 1280, height: 720 } });
    try {
      const { page: looker } = other;
      await looker.getByRole("button", { name: "I have read this" }).click();
      await looker.locator(".tile").first().click();
      await looker.locator('.run-body[aria-busy="false"]').waitFor();
      await looker.screenshot({ path: "test-output/network-runs.png" });
      const close = looker.locator('.bar[data-key="request"]').getByRole("button", { name: "Close" });
      for (const [place, name, keys] of [
        [1, "car", ["k", "Enter"]],
        [2, "wiring", ["p", "f", "g", "b", "k", "a"]],
        [4, "drive", ["Space", "1", "e", "m", "n", "c", "Escape"]],
        [5, "runs", ["e", "n", "c", "x"]],
        [6, "compare", ["x", "b"]],
        [8, "plan", ["w", "r", "a"]],
        [9, "report", ["b", "d", "i"]],
      ] as const) {
        await looker.keyboard.press(`Control+${place}`);
        await looker.locator(`body[data-page=${name}]`).waitFor({ state: "attached" });
        for (const key of keys) {
          await looker.keyboard.press(key);
          await looker.locator('.bar[data-key="request"]').getByText(ONLY_SHOWS).waitFor();
          expect(await looker.locator("dialog[open]").count(), `page ${place}, ${key}`).toBe(0);
          await close.click();
        }
        const seen = await looker.locator("main button:visible").allTextContents();
        expect(
          seen.filter((text) =>
            /^(Arm|Abort|Label|Note|Set|Use|Draw|Save car|Save$|Calibrate|Overrule|Withdraw|It is fixed|Find the|Add a s|Back up|Save PDF|Save image|Conditions)/.test(
              text,
            ),
          ),
          `page ${place}`,
        ).toEqual([]);
        // A field that takes letters would seem to keep them.
        const fields = looker.locator("main :is(input:not([type]), input[type=text]):visible");
        expect(
          await fields.evaluateAll((all) => all.filter((field) => !(field as HTMLInputElement).readOnly).map((field) => field.id)),
          name,
        ).toEqual([]);
      }
      await looker.keyboard.press("F1");
      const dialog = looker.locator("dialog.keys");
      await dialog.waitFor();
      expect(await dialog.getByText(/On the local network|What happened/).count()).toBe(0);
      // The handbook is read there too, with its pictures.
      await looker.keyboard.press("F1");
      await looker.locator("dialog.handbook").waitFor();
      await looker.waitForFunction(() => {
        const pictures = [...document.querySelectorAll<HTMLImageElement>("dialog.handbook img")];
        return pictures.length > 0 && pictures.every((picture) => picture.naturalWidth === 1280);
      });
      await looker.keyboard.press("Escape");
      // Undo and redo have nothing of the laptop's to undo.
      await looker.keyboard.press("Control+z");
      expect(other.trouble).toEqual([]);
    } finally {
      await other.close();
      await visit.end();
    }
  });

  test("turned off, the screens on the network lose it and say so; what it was told stays on the laptop", async () => {
    const { page } = suite.visit;
    await page.locator('.bar[data-key="network"]').getByText("F1 turns it off").waitFor();
    await page.keyboard.press("F1");
    await section().getByRole("button", { name: "New code" }).click();
    const other = await screenAt(await scanned(page), { viewport: { width: 390, height: 844 } });
    try {
      expect(await other.page.locator('.bar[data-key="network"]').count()).toBe(0);
      await section().getByRole("button", { name: "Turn off" }).click();
      await section().getByText("Off. It shows these screens").waitFor();
      await other.page.locator('.bar[data-key="link"]').getByText("scan a new code there").waitFor();
      await expect(other.page.context().request.get(other.page.url())).rejects.toThrow("ECONNREFUSED");
      await page.keyboard.press("Escape");
      await page.locator('.bar[data-key="network"]').waitFor({ state: "detached" });
    } finally {
      await other.close();
    }
  });
});
