/**
 * Two edits of what the core works from, in real Chromium by keyboard alone: an own gate on Plan (it times a stored run, nonsense is
 * refused, undone), and in Wiring whether a port is serial or native USB (proposed by the port's name, chosen, shown, undone). axe-core
 * finds nothing in either dialog.
 */
import { once } from "node:events";
import { type AddressInfo, createServer } from "node:net";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { driveCore, shortDrive } from "../support/driven-core.ts";
import { nmeaSentence } from "../support/nmea.ts";
import { axeFindings, WCAG_AA } from "./support/axe.ts";
import { browserPath, openBrowser, WAIT_MS } from "./support/browser.ts";
import { startVisit } from "./support/visit.ts";

const go = async (page: Page, name: string) => {
  await page.evaluate((hash) => {
    window.location.hash = hash;
  }, name);
  await page.locator(`body[data-page="${name}"]`).waitFor({ state: "attached" });
};

async function clean(page: Page): Promise<void> {
  expect(await axeFindings(page, WCAG_AA)).toEqual([]);
}

/** One launch whose process has died: opening the book closes and derives it. */
function addLaunch(file: string): void {
  const { packets } = shortDrive([
    { kind: "stand", seconds: 2 },
    { kind: "launch", standS: 3, toKmh: 105 },
    { kind: "stand", seconds: 4 },
  ]);
  const driven = driveCore({ file, packets, alwaysArmed: true });
  driven.driveTo((packets.at(-1)?.arrivalUs ?? 0) + 1);
  driven.book.close();
}

describe.skipIf(browserPath === null)("what is set beside the plan and the ports", () => {
  let browser: Browser;
  beforeAll(async () => {
    browser = await openBrowser();
  });
  afterAll(() => browser?.close());

  test("a gate of one's own is added on Plan, times the stored run, is refused where it cannot be one, and is undone", async () => {
    const visit = await startVisit(browser, "simulated", {}, addLaunch);
    const { page } = visit;
    try {
      await page.getByRole("button", { name: "I have read this" }).press("Enter");
      await go(page, "plan");
      await page.locator(".plan h1", { hasText: "No plan yet" }).waitFor();
      await page.keyboard.press("a");
      await page.locator("dialog[open]", { hasText: "Own gates" }).waitFor();
      // From has the focus and is selected; its unit, then the other end.
      await page.keyboard.type("20");
      await page.keyboard.press("Tab");
      await page.keyboard.type("mph");
      await page.keyboard.press("Tab");
      await page.keyboard.type("fast");
      // The other end has taken the first one's unit over: nobody means 20 mph to 45 km/h.
      await page.keyboard.press("Enter");
      await page.locator("dialog .reason", { hasText: /Expected To like "20 km\/h", "60 mph" or "100 m".*got "fast mph"/ }).waitFor();
      await page.getByLabel("To", { exact: true }).focus();
      await page.keyboard.press("Control+a");
      await page.keyboard.type("45");
      await page.locator("dialog [role=status]", { hasText: "Timed while rolling, 20 mph to 45 mph." }).waitFor();
      // The reason was about "fast", which stands there no longer.
      await page.locator("dialog .reason").waitFor({ state: "hidden" });
      await visit.shot("own-gates-new");
      await clean(page);
      await page.keyboard.press("Enter");
      await page.locator("dialog").waitFor({ state: "detached", timeout: WAIT_MS });
      // The next plan is about it.
      await page.locator(".plan-form button", { hasText: "20\u201345 mph" }).waitFor();
      // The stored launch has shown how far it is to 45 mph: nothing is assumed.
      for (const [field, text] of [
        ["First group", "off"],
        ["Second group", "on"],
        ["Usable length, m", "900"],
        ["Run-off beyond ends and to the sides", "grass"],
      ] as const)
        await page.getByRole("textbox", { name: field, exact: true }).fill(text);
      await page.locator(".plan h1").click();
      await page.keyboard.press("w");
      await page.locator(".plan h1", { hasText: "Drawn at random" }).waitFor();
      expect(await page.locator(".plan .lead").first().textContent()).toMatch(/1\.5 × \(\d+ m to 20-45 mph \+ \d+ m to stop/);
      await go(page, "runs");
      await page.locator(".page.runs", { hasText: /20\u201345 mph/ }).waitFor();
      await go(page, "plan");
      await page.keyboard.press("a");
      await page.locator(".own-gates li", { hasText: "20-45 mph rolling, 32.2 to 72.4 km/h" }).waitFor();
      await visit.shot("own-gates-list");
      await page.keyboard.press("Escape");
      await page.locator("dialog").waitFor({ state: "detached" });
      await page.keyboard.press("Control+z");
      await page.locator(".plan-form button", { hasText: "0\u201360 mph" }).waitFor({ timeout: WAIT_MS });
      await page.keyboard.press("a");
      await page.locator("dialog[open]").waitFor();
      expect(await page.locator(".own-gates li").count()).toBe(0);
      expect(visit.trouble).toEqual([]);
    } finally {
      await visit.end();
    }
  });

  test("what a port's bytes come over is proposed by its name, chosen by hand, shown and undone", async () => {
    const visit = await startVisit(browser, "own");
    const { page } = visit;
    try {
      await page.getByRole("button", { name: "I have read this" }).press("Enter");
      await page.locator(".wiring h1", { hasText: "First, the car" }).waitFor();
      await page.keyboard.press("f");
      await page.locator("dialog .ports").waitFor();
      const chosen = () => page.locator("input[name=line]:checked").getAttribute("value");
      expect(await chosen()).toBe("");
      await page.keyboard.type("/dev/ttyACM97");
      expect(await chosen()).toBe("usb");
      await page.keyboard.press("Control+a");
      await page.keyboard.type("/dev/ttyUSB97");
      expect(await chosen()).toBe("uart");
      // A person knows better, and the next letter typed does not change the choice.
      await page.locator("input[name=line]:checked").focus();
      await page.keyboard.press("ArrowDown");
      expect(await chosen()).toBe("usb");
      await visit.shot("line-kind");
      await clean(page);
      await page.keyboard.press("Enter");
      await page.locator("dialog").waitFor({ state: "detached", timeout: WAIT_MS });
      const box = page.getByRole("region", { name: "Receiver" });
      await box.filter({ hasText: "port /dev/ttyUSB97, 115,200 baud, native USB" }).waitFor();
      await page.keyboard.press("Control+z");
      await box.filter({ hasText: "not plugged in yet" }).waitFor();
      expect(visit.trouble).toEqual([]);
    } finally {
      await visit.end();
    }
  });

  test("a receiver on the network is chosen by keyboard, refused with the reason, read at once, and undone", async () => {
    let tenths = 0;
    const nextLine = () => {
      tenths = (tenths + 2) % 600;
      const time = `0927${(tenths / 10).toFixed(2).padStart(5, "0")}`;
      return nmeaSentence(`GPRMC,${time},A,4717.11437,N,00833.91522,E,0.004,77.52,091202,,,A`);
    };
    const server = createServer((socket) => {
      const sending = setInterval(() => socket.write(nextLine()), 200);
      socket.on("error", () => undefined).once("close", () => clearInterval(sending));
    }).listen(0, "127.0.0.1");
    await once(server, "listening");
    const { port } = server.address() as AddressInfo;
    const visit = await startVisit(browser, "own");
    const { page } = visit;
    try {
      await page.getByRole("button", { name: "I have read this" }).press("Enter");
      await page.locator(".wiring h1", { hasText: "First, the car" }).waitFor();
      await page.keyboard.press("f");
      await page.locator("dialog .ports").waitFor();
      await page.locator("input[name=kind][value=port]").focus();
      await page.keyboard.press("ArrowDown");
      expect(await page.locator("input[name=kind]:checked").getAttribute("value")).toBe("gpsd");
      await page.keyboard.press("ArrowDown");
      expect(await page.locator("input[name=kind]:checked").getAttribute("value")).toBe("tcp");
      await page.getByLabel("Address and port").fill("not an address");
      await page.keyboard.press("Enter");
      await page.locator("dialog .reason", { hasText: /expected an address and its port such as "192\.168\.1\.5:10110"/ }).waitFor();
      await page.getByLabel("Address and port").fill(`127.0.0.1:${port}`);
      await visit.shot("network-source");
      await clean(page);
      await page.keyboard.press("Enter");
      await page.locator("dialog").waitFor({ state: "detached", timeout: WAIT_MS });
      const box = page.getByRole("region", { name: "Receiver" });
      await box
        .filter({ hasText: `TCP 127.0.0.1:${port}` })
        .filter({ hasText: "5 Hz" })
        .waitFor({ timeout: WAIT_MS });
      await page.keyboard.press("Control+z");
      await box.filter({ hasText: "not plugged in yet" }).waitFor();
      expect(visit.trouble).toEqual([]);
    } finally {
      await visit.end();
      server.close();
    }
  });
});
