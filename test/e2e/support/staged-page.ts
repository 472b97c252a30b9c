/**
 * The screens in a browser over a core in the test's own process, by the way that the window's preload uses: requests go to that core, and what is live is
 * whatever the test puts there, said again with every frame. No host, no socket and no clock of a car: a state stands until the test sets another.
 */
import { readFileSync } from "node:fs";
import { extname, join } from "node:path";
import { fileURLToPath } from "node:url";
import type { Browser, Page } from "playwright-core";
import { ensureScreens } from "../../../src/main/hosts/screens-build.ts";
import { checkRequest, type CoreEvent, type LiveEvent, REQUESTS, type RunColumns } from "../../../src/shared/contract/contract.ts";
import { WAIT_MS } from "./browser.ts";
import { keepCanvasTexts } from "./canvas-texts.ts";

const root = fileURLToPath(new URL("../../..", import.meta.url));
const ORIGIN = "http://gripbook.test";
const TYPES: Readonly<Record<string, string>> = {
  ".html": "text/html",
  ".js": "text/javascript",
  ".css": "text/css",
  ".woff2": "font/woff2",
  ".woff": "font/woff",
  ".svg": "image/svg+xml",
};
declare global {
  interface Window {
    askCore(name: string, argument: unknown): Promise<{ readonly answer?: unknown; readonly columns?: string[]; readonly error?: string }>;
    /** Hands the page an event. A live one stands until the next; null ends it, as if nothing came any more. */
    tellPage(event: CoreEvent | null): void;
    asksUnderWay: number;
    /** Nothing live is told. */
    silent: boolean;
  }
}

export interface StagedPage {
  readonly page: Page;
  /** Script and console errors seen so far. */
  readonly trouble: string[];
  /** One after the other, without a frame between them: they come faster than a screen draws. */
  tell(...events: readonly (CoreEvent | null)[]): Promise<void>;
  /** Everything asked is answered, and what came of it is drawn. */
  settled(): Promise<void>;
}

/** Answers a request that was checked; throws one line. */
export type Asked = (name: string, argument: unknown) => Promise<unknown>;

const isColumns = (name: string, answer: unknown): answer is RunColumns => name === "run.columns" && answer !== null;
const base64 = (column: Float32Array) => Buffer.from(column.buffer, column.byteOffset, column.byteLength).toString("base64");

async function answerOf(ask: Asked, name: string, argument: unknown) {
  try {
    const checked = checkRequest(name, argument);
    const answer = await ask(checked.name, checked.argument);
    if (!isColumns(name, answer)) return { answer };
    const { names, units, columns } = answer;
    return { answer: { names, units }, columns: columns.map(base64) };
  } catch (error) {
    return { error: error instanceof Error ? error.message : String(error) };
  }
}

/** Puts on the page what a window's preload does; in the page, before its own code. */
function stagePreload(requests: readonly string[]): void {
  const listeners = new Set<(event: CoreEvent) => void>();
  let live: LiveEvent | null = null;
  window.asksUnderWay = 0;
  const ask = async (name: string, argument: unknown) => {
    window.asksUnderWay += 1;
    const { answer, columns, error } = await window.askCore(name, argument).finally(() => {
      window.asksUnderWay -= 1;
    });
    if (error !== undefined) throw new Error(error);
    const bytes = (text: string) => new Float32Array(Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0)).buffer);
    return columns === undefined ? answer : { ...(answer as object), columns: columns.map(bytes) };
  };
  const said = (event: CoreEvent) => {
    for (const listener of listeners) listener(event);
  };
  window.tellPage = (event) => {
    // Words on Drive change with a state at once, and else four times a second: with a state between them they need no waiting for.
    if (event?.event === "live" && live?.event === "live" && event.state === live.state && event.state !== "launched")
      said({ ...event, state: event.state === "standing" ? "armed" : "standing" });
    if (event === null || event.event === "live") live = event;
    window.silent = live === null;
    if (event !== null) said(event);
  };
  // Before the page's own step of every frame: on a busy machine, too, what is live is never old when it is drawn.
  const again = () => {
    requestAnimationFrame(again);
    if (live !== null) said(live);
  };
  requestAnimationFrame(again);
  Object.defineProperty(window, "gripbook", {
    value: {
      requests: Object.fromEntries(requests.map((name) => [name, (argument: unknown) => ask(name, argument)])),
      onEvent(listener: (event: CoreEvent) => void) {
        listeners.add(listener);
        return () => listeners.delete(listener);
      },
      shown: async () => undefined,
    },
  });
}

/** `report`: the page that Report shows. */
export async function stagePage(browser: Browser, ask: Asked, report: () => Promise<string>): Promise<StagedPage> {
  const folder = await ensureScreens(root);
  const context = await browser.newContext({ viewport: { width: 1280, height: 720 } });
  context.setDefaultTimeout(WAIT_MS);
  const page = await context.newPage();
  const trouble: string[] = [];
  page.on("console", (message) => {
    // The report's frame may run nothing, what a test puts on every page included.
    if (message.type() === "error" && !/frame is sandboxed/.test(message.text())) trouble.push(`console: ${message.text()}`);
  });
  page.on("pageerror", (error) => trouble.push(`script: ${error.message}`));
  await page.route(`${ORIGIN}/**`, async (route) => {
    const { pathname } = new URL(route.request().url());
    if (pathname === "/report") return route.fulfill({ contentType: "text/html", body: await report() });
    const file = pathname === "/" ? "/index.html" : pathname;
    return route.fulfill({ contentType: TYPES[extname(file)] ?? "application/octet-stream", body: readFileSync(join(folder, file)) });
  });
  await page.exposeFunction("askCore", (name: string, argument: unknown) => answerOf(ask, name, argument));
  await page.addInitScript(keepCanvasTexts);
  await page.addInitScript(stagePreload, Object.keys(REQUESTS));
  await page.goto(`${ORIGIN}/`);
  await page.locator("body[data-page]").waitFor({ state: "attached" });
  return {
    page,
    trouble,
    tell: (...events) =>
      page.evaluate((told) => {
        for (const event of told) window.tellPage(event);
      }, events),
    settled: () =>
      page.evaluate(async () => {
        const frame = () => new Promise((drawn) => requestAnimationFrame(drawn));
        // Words that nothing told for a while are said unknown then, and are looked at once they are.
        const silent = () => window.silent && document.querySelector(".plate")?.getAttribute("data-state") !== "unknown";
        while (document.body.dataset.page === "drive" && silent()) await frame();
        // An answer may lead to another question.
        for (let still = 0; still < 3; still = window.asksUnderWay === 0 ? still + 1 : 0) await frame();
      }),
  };
}
