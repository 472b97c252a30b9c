/** The Electron window's policies without an Electron runtime, after Electron's own security tutorial (items 5, 7, 13, 17, 18) and powerSaveBlocker's documentation. */
import { expect, test } from "vitest";
import type { CoreProcess } from "../../../src/main/hosts/core-process.ts";
import { answerPage, checkSender, createDisplayGuard, serveApp } from "../../../src/main/hosts/electron/window-policy.ts";

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
