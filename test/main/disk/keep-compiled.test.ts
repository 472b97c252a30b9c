/** Compiled source is kept by Node itself (nodejs.org, module.enableCompileCache): the real command line, with a data folder of the test's own. */
import { spawnSync } from "node:child_process";
import { mkdtempSync, readdirSync, rmSync, statSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { afterEach, beforeEach, expect, test } from "vitest";

const ENTRY = fileURLToPath(new URL("../../../src/main/command-line/gripbook.ts", import.meta.url));
let folder = "";
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

function run() {
  const { NODE_COMPILE_CACHE: _named, ...others } = process.env;
  const env = { ...others, XDG_DATA_HOME: folder, LOCALAPPDATA: folder, HOME: folder };
  return spawnSync(process.execPath, [ENTRY, "export", "1", "--book", join(folder, "none"), "--as", "csv", "--out", "x"], {
    env,
    encoding: "utf8",
  });
}
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
