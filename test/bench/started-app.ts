/** `npm start` as a person types it, and a page of a real Chromium that notes when the first live values had been drawn. */
import { type ChildProcess, spawn } from "node:child_process";
import { once } from "node:events";
import type { Browser, Page } from "playwright-core";
import { WAIT_MS } from "../e2e/support/browser.ts";

export interface StartedApp {
  /** The process group of everything that was started. */
  readonly group: number;
  /** From the start to the frame that drew the first live values, ms. */
  readonly liveMs: number;
  readonly page: Page;
  end(): Promise<void>;
}

/** In the page: when a message of its socket that begins like this had been drawn. */
function watchSocket(begins: string): void {
  const Socket = window.WebSocket;
  const seen = window as unknown as { drawnAt?: number };
  window.WebSocket = class extends Socket {
    constructor(address: string | URL, protocols?: string | string[]) {
      super(address, protocols);
      const heard = ({ data }: MessageEvent) => {
        if (typeof data !== "string" || !data.startsWith(begins)) return;
        this.removeEventListener("message", heard);
        requestAnimationFrame(() => {
          const painted = new MessageChannel();
          painted.port1.onmessage = () => {
            seen.drawnAt ??= Date.now();
          };
          painted.port2.postMessage(null);
        });
      };
      this.addEventListener("message", heard);
    }
  };
}

async function linkOf(child: ChildProcess): Promise<string> {
  let said = "";
  return new Promise((resolve, reject) => {
    const hear = (text: unknown) => {
      said += String(text);
      const link = /http:\/\/127\.0\.0\.1:\S+/.exec(said)?.[0];
      if (link !== undefined) resolve(link);
    };
    child.stdout?.on("data", hear);
    child.stderr?.on("data", hear);
    child.once("exit", () => reject(new Error(`It ended: ${said.trim()}`)));
  });
}

/** `begins`: how a message of the socket begins whose drawing ends the wait. */
export async function startApp(
  browser: Browser,
  [program = "", ...given]: readonly string[],
  { folder, cwd, begins = '{"event":{"event":"live"' }: { readonly folder: string; readonly cwd: string; readonly begins?: string },
): Promise<StartedApp> {
  const context = await browser.newContext({ viewport: { width: 1280, height: 720 } });
  context.setDefaultTimeout(WAIT_MS);
  const page = await context.newPage();
  await page.addInitScript(watchSocket, begins);
  const startedAt = Date.now();
  const env = { ...process.env, XDG_DATA_HOME: folder };
  const child = spawn(program, given, { cwd, detached: true, stdio: ["ignore", "pipe", "pipe"], env });
  const ended = once(child, "exit");
  const group = child.pid ?? 0;
  await page.goto(await linkOf(child));
  const drawn = await page.waitForFunction(() => (window as unknown as { drawnAt?: number }).drawnAt, null, { polling: 20 });
  return {
    group,
    liveMs: Number(await drawn.jsonValue()) - startedAt,
    page,
    async end() {
      await context.close();
      process.kill(-group, "SIGTERM");
      await ended;
    },
  };
}
