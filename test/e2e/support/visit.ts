/** One visit to Gripbook in the browser: host, measuring process and page, with everything that a page must never do collected as trouble. */
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import type { Browser, BrowserContextOptions, Page } from "playwright-core";
import { afterAll, beforeAll, expect } from "vitest";
import { ensureScreens } from "../../../src/main/hosts/screens-build.ts";
import { type RunningWeb, runWeb } from "../../../src/main/hosts/web/run-web.ts";
import { openBrowser, WAIT_MS } from "./browser.ts";
import { picture } from "./pictures.ts";

const root = fileURLToPath(new URL("../../..", import.meta.url));
const OUTPUT = join(root, "test-output");
mkdirSync(OUTPUT, { recursive: true });

/**
 * fake: each state lasts seconds, for looks and keys; planned: the same with a present plan. simulated: the built-in car in real time, the
 * whole way; fast: at four times real time. own: an empty set-up.
 */
export type Source = "fake" | "planned" | "simulated" | "fast" | "own";

export interface Visit {
  readonly page: Page;
  readonly running: RunningWeb;
  /** Policy violations, script errors and console errors seen so far. */
  readonly trouble: string[];
  /** A picture, where they are wanted. */
  shot(name: string): Promise<void>;
  /** Opens a saved drawing by itself, and gives its words. */
  alone(name: string, svg: string): Promise<(string | null)[]>;
  end(): Promise<void>;
}

const ENTRIES = {
  fake: "test/support/fake-ingest.ts",
  planned: "test/support/fake-ingest.ts",
  simulated: "src/main/ingest/ingest-process.ts",
  fast: "test/support/fast-ingest.ts",
  own: "src/main/ingest/ingest-process.ts",
} as const;

/** `prepare` fills the book before the measuring process opens it. */
export async function startVisit(
  browser: Browser,
  source: Source,
  options: BrowserContextOptions = {},
  prepare: (bookFile: string) => void = () => undefined,
): Promise<Visit> {
  const folder = mkdtempSync(join(tmpdir(), "gripbook-e2e-"));
  prepare(join(folder, "day.gripbook"));
  const running = await runWeb({
    coreEntry: join(root, ENTRIES[source]),
    coreArguments:
      source === "fake" || source === "planned"
        ? [`--${source}`]
        : [
            "--book",
            join(folder, "day.gripbook"),
            ...(source === "own" ? ["--setup", join(folder, "new.json")] : ["--simulated"]),
            "--remember",
            join(folder, "last-car.json"),
          ],
    screensFolder: await ensureScreens(root),
    port: 0,
    open: false,
  });
  const context = await browser.newContext({ viewport: { width: 1280, height: 720 }, ...options });
  context.setDefaultTimeout(WAIT_MS);
  const page = await context.newPage();
  const trouble: string[] = [];
  page.on("console", (message) => {
    if (message.type() === "error") trouble.push(`console: ${message.text()}`);
  });
  page.on("pageerror", (error) => trouble.push(`script: ${error.message}`));
  await page.exposeFunction("gripbookViolation", (text: string) => trouble.push(`policy: ${text}`));
  await page.addInitScript(() => {
    document.addEventListener("securitypolicyviolation", (event) => {
      (window as unknown as { gripbookViolation(text: string): void }).gripbookViolation(`${event.violatedDirective} ${event.blockedURI}`);
    });
  });
  await page.goto(running.host.link());
  // Keys act once a page is shown.
  await page.locator("body[data-page]").waitFor({ state: "attached" });
  return {
    page,
    running,
    trouble,
    shot: (name) => picture(page, name),
    async alone(name, svg) {
      const file = join(OUTPUT, name);
      writeFileSync(file, svg);
      const other = await browser.newPage();
      await other.goto(pathToFileURL(file).href);
      await picture(other, name);
      const words = await other.locator("text").evaluateAll((texts) => texts.map((text) => text.textContent));
      await other.close();
      return words;
    },
    async end() {
      await context.close();
      await running.close();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

/** One browser and one visit for all tests of the suite that calls it, there once the suite has begun; at its end no trouble has been seen. */
export function useVisit(source: Source): { readonly browser: Browser; readonly visit: Visit } {
  const suite = {} as { browser: Browser; visit: Visit };
  beforeAll(async () => {
    suite.browser = await openBrowser();
    suite.visit = await startVisit(suite.browser, source);
  });
  afterAll(async () => {
    await suite.visit?.end();
    await suite.browser?.close();
    expect(suite.visit.trouble).toEqual([]);
  });
  return suite;
}
