/**
 * The same first screen in Electron, wherever its runtime is installed; elsewhere skipped with a message. The bundles are built and checked
 * everywhere.
 */
import { WAIT_MS } from "./support/browser.ts";
import { mkdtempSync, readFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { _electron } from "playwright-core";
import { beforeAll, expect, test } from "vitest";
import { installedElectron } from "../../src/main/hosts/electron/find-electron.ts";
import { forkCore } from "../../src/main/hosts/fork-core.ts";
import { buildShell } from "../../src/main/hosts/electron/shell-build.ts";
import { ensureScreens } from "../../src/main/hosts/screens-build.ts";

const root = fileURLToPath(new URL("../..", import.meta.url));
// Downloading a runtime is the work of npm start, not of this test.
const electron = installedElectron();
if (electron === null) console.warn("SKIPPED: Electron specs: its runtime is not here");
let shell: string;

beforeAll(async () => {
  shell = await buildShell(root);
});

test("buildShell() makes one CommonJS preload that names only Electron, and modules without TypeScript", () => {
  const preload = readFileSync(join(dirname(shell), "preload.cjs"), "utf8");
  const required = [...preload.matchAll(/require\((["'`])(.+?)\1\)/g)].map((match) => match[2]);
  expect([...new Set(required)]).toEqual(["electron"]);
  const main = readFileSync(shell, "utf8");
  expect([...main.matchAll(/from\s*"(.+?)"/g)].map((match) => match[1]).filter((name) => name?.endsWith(".ts"))).toEqual([]);
});

test("the bundled measuring process finds its bundled estimator and drives the simulated car", async () => {
  const book = join(mkdtempSync(join(tmpdir(), "gripbook-bundle-")), "day.gripbook");
  const core = forkCore({ entry: join(dirname(shell), "ingest.mjs"), argv: ["--book", book, "--simulated"] });
  const notices: unknown[] = [];
  const checks = await new Promise((resolve, reject) => {
    core.onExit((code, line) => reject(new Error(`The measuring process ended with ${code}: ${line}`)));
    core.onMessage((raw) => {
      const { kind, event, id, ok, answer, error } = raw as Record<string, unknown>;
      const { event: name, key, work, words } = (event ?? {}) as Record<string, unknown>;
      if (name === "notice" && key === "timing") notices.push(event);
      if (kind === "ready") core.send({ kind: "request", id: 1, name: "work.cancel", argument: { work: "first-day" } });
      // The first day has stopped and the car drives: now the list is the estimator's to tell.
      if (name === "work" && work === "first-day" && words === null)
        setTimeout(() => core.send({ kind: "request", id: 2, name: "before.read", argument: {} }), 1000);
      if (id === 2) ok === true ? resolve(answer) : reject(new Error(String(error)));
    });
  });
  core.send({ kind: "close" });
  expect(checks).toEqual(expect.arrayContaining([expect.objectContaining({ key: "fix", state: "green" })]));
  expect(notices).toEqual([]);
});

test.skipIf(electron === null)("the shell shows the simulated day of twelve, sandboxed, with named functions only", async () => {
  const book = join(mkdtempSync(join(tmpdir(), "gripbook-electron-")), "day.gripbook");
  const program = await _electron.launch({
    executablePath: electron ?? "",
    args: [shell, "--no-sandbox", "--screens", await ensureScreens(root), "--", "--book", book, "--simulated"],
  });
  const page = await program.firstWindow();
  await page.locator(".tile").nth(11).waitFor({ timeout: WAIT_MS });
  const seen = await page.evaluate(() => ({
    node: typeof (globalThis as { process?: unknown }).process,
    bridge: Object.keys((window as unknown as { gripbook?: object }).gripbook ?? {}),
  }));
  expect(seen).toEqual({ node: "undefined", bridge: ["requests", "shown", "onEvent"] });
  await program.close();
});
