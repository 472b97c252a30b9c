/**
 * What the list of processes shows while the browser opens (proc(5)), and who can read what it is given (POSIX file modes). A stand-in
 * plays the opener.
 */
import { chmodSync, existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { afterEach, beforeEach, expect, test, vi } from "vitest";
import { openBrowser } from "../../../src/main/hosts/web/open-browser.ts";

let folder = "";
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-opener-"));
  vi.stubEnv("PATH", `${folder}:${process.env.PATH}`);
  vi.stubEnv("DISPLAY", ":99");
});
afterEach(() => {
  vi.unstubAllEnvs();
  rmSync(folder, { recursive: true, force: true });
});

const ADDRESS = "http://127.0.0.1:61733/enter?token=sesame";

test.skipIf(process.platform !== "linux")(
  "openBrowser() shows no token in the list of processes, and gives the way in by a file of this person's own",
  async () => {
    const opener = join(folder, "xdg-open");
    const note = join(folder, "pid");
    writeFileSync(opener, `#!/bin/sh\necho $$ > ${note}.part && mv ${note}.part ${note}\nwhile :; do sleep 0.1; done\n`);
    chmodSync(opener, 0o755);
    const opened = await openBrowser(ADDRESS);
    try {
      await vi.waitFor(() => expect(existsSync(note)).toBe(true), { timeout: 120_000 });
      const lists = readdirSync("/proc")
        .filter((entry) => /^\d+$/.test(entry) && Number(entry) !== process.pid)
        .flatMap((entry) => {
          try {
            return [readFileSync(`/proc/${entry}/cmdline`, "utf8")];
          } catch {
            return [];
          }
        });
      expect(lists.filter((line) => line.includes("sesame"))).toEqual([]);
      const given = /file:\/\/\S+?\.html/.exec(readFileSync(`/proc/${readFileSync(note, "utf8").trim()}/cmdline`, "utf8"))?.[0] ?? "";
      const file = fileURLToPath(given);
      expect(readFileSync(file, "utf8")).toContain(`url=${ADDRESS}"`);
      expect([statSync(file).mode & 0o777, statSync(dirname(file)).mode & 0o777]).toEqual([0o600, 0o700]);
      opened?.forget();
      expect(existsSync(dirname(file))).toBe(false);
    } finally {
      if (existsSync(note)) process.kill(Number(readFileSync(note, "utf8")), "SIGKILL");
      opened?.forget();
    }
  },
);

test.skipIf(process.platform !== "linux")("openBrowser() answers null without a screen or a browser, and leaves no file", async () => {
  vi.stubEnv("TMPDIR", folder);
  vi.stubEnv("HOME", folder);
  vi.stubEnv("PATH", folder);
  expect(await openBrowser(ADDRESS)).toBeNull();
  vi.stubEnv("DISPLAY", "");
  vi.stubEnv("WAYLAND_DISPLAY", "");
  expect(await openBrowser(ADDRESS)).toBeNull();
  expect(readdirSync(folder)).toEqual([]);
});
