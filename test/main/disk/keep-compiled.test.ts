/** Compiled source is kept by Node itself (nodejs.org, module.enableCompileCache): the real command line and start, with a data folder of the test's own. */
import { once } from "node:events";
import { spawn, spawnSync } from "node:child_process";
import { mkdtempSync, readdirSync, rmSync, statSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { afterEach, beforeEach, expect, test } from "vitest";
import { keepingCompiled } from "../../../src/main/disk/keep-compiled.ts";

const ENTRY = fileURLToPath(new URL("../../../src/main/command-line/gripbook.ts", import.meta.url));
const START = fileURLToPath(new URL("../../../src/main/hosts/start.ts", import.meta.url));
let folder = "";
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

/** Without a folder that is named already. */
function ownData() {
  const { NODE_COMPILE_CACHE: _named, ...others } = process.env;
  return { ...others, XDG_DATA_HOME: folder, LOCALAPPDATA: folder, HOME: folder };
}
const run = () =>
  spawnSync(process.execPath, [ENTRY, "export", "1", "--book", join(folder, "none"), "--as", "csv", "--out", "x"], {
    env: ownData(),
    encoding: "utf8",
  });
const compiled = () => readdirSync(folder, { recursive: true, encoding: "utf8" }).find((name) => name.endsWith("compiled")) ?? "";

test("a command keeps what was compiled for the next one, for its owner alone", () => {
  expect(run().status).not.toBe(0);
  const place = join(folder, compiled());
  expect(readdirSync(place, { recursive: true }).length).toBeGreaterThan(20);
  if (process.platform !== "win32") expect(statSync(place).mode & 0o777).toBe(0o700);
});

test.runIf(process.platform === "linux")("where the folder cannot be made the command is the same without it", () => {
  writeFileSync(join(folder, "gripbook"), "no folder");
  expect(run().stderr).toContain("none: not found or not readable; name an existing book\n");
});

test("a start keeps it for all its processes, the measuring one and the screens' host too", async () => {
  const kept = () => readdirSync(join(folder, compiled()), { recursive: true }).length;
  expect(spawnSync(process.execPath, [START, "--help"], { env: ownData() }).status).toBe(0);
  const byLauncher = kept();
  expect(byLauncher).toBeGreaterThan(20);
  const child = spawn(process.execPath, [START, "--web", "--no-open", "--port", "0", "--book", join(folder, "a.gripbook")], {
    env: ownData(),
  });
  // Its first line has the address.
  await once(child.stderr, "data");
  child.kill("SIGTERM");
  await once(child, "exit");
  // The measuring process has more modules than the launcher.
  expect(kept()).toBeGreaterThan(2 * byLauncher);
});

test("who names a folder for it keeps that one", () => {
  expect(keepingCompiled({ NODE_COMPILE_CACHE: "/named", HOME: "/home/p" }).NODE_COMPILE_CACHE).toBe("/named");
  expect(keepingCompiled({ HOME: folder, XDG_DATA_HOME: folder, LOCALAPPDATA: folder }).NODE_COMPILE_CACHE).toContain(folder);
});
