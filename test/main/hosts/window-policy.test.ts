/** The Electron window's policies without an Electron runtime, after Electron's own security tutorial (items 2 to 18) and powerSaveBlocker's documentation. */
import { expect, test } from "vitest";
import type { CoreProcess } from "../../../src/main/hosts/core-process.ts";
import {
  answerPage,
  checkSender,
  createDisplayGuard,
  keepAtHome,
  PAGE_PREFERENCES,
  refuseNetwork,
  refusePermissions,
  serveApp,
} from "../../../src/main/hosts/electron/window-policy.ts";

const files = new Map([["/", { type: "text/html; charset=utf-8", bytes: new TextEncoder().encode("<!doctype html>") }]]);

const core = {
  request: async (name: string, argument: unknown) => ({ html: `${name} ${(argument as { groups?: string[] }).groups}`, name: "odrel" }),
} as unknown as CoreProcess;
const pages = { files, core, print: async (_html: string, format: string) => new TextEncoder().encode(format) };

test("serveApp() serves the built screens under its one host, with the policy", async () => {
  const page = await serveApp(pages, "app://gripbook/");
  expect(page.status).toBe(200);
  expect(page.headers.get("content-security-policy")).toMatch(/^default-src 'none'/);
  expect(await page.text()).toBe("<!doctype html>");
});

test.each([
  ["app://evil/", 403],
  ["app://gripbook.evil/", 403],
  ["https://gripbook/", 403],
  ["app://gripbook/../../etc/passwd", 404],
  ["app://gripbook/%2e%2e/package.json", 404],
])("serveApp() refuses %s", async (address, status) => {
  expect((await serveApp(pages, address)).status).toBe(status);
});

test("serveApp() gives the report with a policy of its own that loads nothing, and its trouble as one line", async () => {
  const page = await serveApp(pages, "app://gripbook/report?group=off&group=on");
  expect(page.headers.get("content-security-policy")).toMatch(
    /^default-src 'none'; style-src 'unsafe-inline';.*frame-ancestors 'self'; sandbox$/,
  );
  expect(await page.text()).toBe("report.html off,on");
  const printed = await serveApp(pages, "app://gripbook/report.pdf");
  expect([printed.status, printed.headers.get("x-file-name"), await printed.text()]).toEqual([200, "odrel.pdf", "pdf"]);
  const failing = { ...pages, print: () => Promise.reject(new Error("no Chromium found")) };
  const failed = await serveApp(failing, "app://gripbook/report.png");
  expect([failed.status, await failed.text()]).toEqual([503, "no Chromium found\n"]);
});

test("checkSender() takes only the top frame of our own page", () => {
  const own = { url: "app://gripbook/#runs" };
  expect(() => checkSender(own, own)).not.toThrow();
  expect(() => checkSender(null, own)).toThrow("Refused");
  expect(() => checkSender({ url: own.url }, own)).toThrow("Refused");
  for (const url of ["https://evil.example/", "app://evil/", "file:///etc/passwd", "about:blank"]) {
    const frame = { url };
    expect(() => checkSender(frame, frame)).toThrow("Refused");
  }
});

test("answerPage() lets only contract requests through, and gives errors as plain lines", async () => {
  const asked: string[] = [];
  const core = { request: async (name: string) => asked.push(name) } as unknown as CoreProcess;
  expect(await answerPage(core, "runs.list", {})).toEqual({ ok: true, answer: 1 });
  expect(await answerPage(core, "shell.open", {})).toEqual({ ok: false, error: 'Unknown request "shell.open"' });
  expect(await answerPage(core, "run.show", { run: -1 })).toMatchObject({ ok: false });
  expect(await answerPage(core, null, undefined)).toMatchObject({ ok: false });
  expect(asked).toEqual(["runs.list"]);
});

test("createDisplayGuard() blocks sleep from armed until idle or aborted, once", () => {
  const calls: string[] = [];
  const guard = createDisplayGuard({
    start: (type) => {
      calls.push(type);
      return 5;
    },
    stop: (id) => {
      calls.push(`stop ${id}`);
      return true;
    },
  });
  for (const state of ["idle", "armed", "standing", "launched", "done", "armed", "aborted", "idle"]) guard(state);
  expect(calls).toEqual(["prevent-display-sleep", "stop 5"]);
});

test("PAGE_PREFERENCES are what items 2, 3, 4, 6, 8, 9 and 11 of the checklist ask for", () => {
  expect(PAGE_PREFERENCES).toEqual({
    sandbox: true,
    contextIsolation: true,
    nodeIntegration: false,
    nodeIntegrationInWorker: false,
    nodeIntegrationInSubFrames: false,
    webSecurity: true,
    allowRunningInsecureContent: false,
    experimentalFeatures: false,
    webviewTag: false,
  });
});

/** Plays Electron's emitters as far as the policy uses them. */
function handEmitter() {
  const listeners = new Map<string, (event: never) => void>();
  let open: () => unknown = () => undefined;
  const contents = {
    setWindowOpenHandler: (handler: () => unknown) => {
      open = handler;
    },
    on: (name: string, listener: (event: never) => void) => listeners.set(name, listener),
  };
  const isStopped = (name: string, url = "") => {
    let stopped = false;
    listeners.get(name)?.({ url, preventDefault: () => (stopped = true) } as never);
    return stopped;
  };
  return { contents, isStopped, open: () => open() };
}

test("keepAtHome() lets a page go nowhere but to its own addresses, in no frame, no further window and no web view", () => {
  const { contents, isStopped, open } = handEmitter();
  keepAtHome(contents, (address) => address.startsWith("app://gripbook/"));
  expect(open()).toEqual({ action: "deny" });
  expect(isStopped("will-attach-webview")).toBe(true);
  for (const name of ["will-navigate", "will-redirect", "will-frame-navigate"]) {
    expect(isStopped(name, "app://gripbook/report")).toBe(false);
    for (const url of ["https://evil.example/", "file:///etc/passwd", "app://gripbook.evil/", "data:text/html,x", "javascript:1"])
      expect(isStopped(name, url)).toBe(true);
  }
});

test("refusePermissions() grants nothing", () => {
  const granted: unknown[] = [];
  refusePermissions({
    setPermissionRequestHandler: (handler) => handler(null, "media", (isGranted) => granted.push(isGranted)),
    setPermissionCheckHandler: (handler) => granted.push(handler()),
    setDevicePermissionHandler: (handler) => granted.push(handler()),
  });
  expect(granted).toEqual([false, false, false]);
});

test("refuseNetwork() cancels every request but the page itself", () => {
  const seen = (url: string) => {
    let cancelled: boolean | null = null;
    refuseNetwork({ webRequest: { onBeforeRequest: (listener) => listener({ url }, ({ cancel }) => (cancelled = cancel)) } });
    return cancelled;
  };
  expect(seen("data:text/html;base64,PHA+")).toBe(false);
  for (const url of [
    "http://192.0.2.1/x",
    "https://evil.example/",
    "file:///etc/passwd",
    "app://gripbook/",
    "ws://127.0.0.1/",
    "blob:null/1",
  ])
    expect(seen(url)).toBe(true);
});
