/**
 * `npm start` with a runtime that shows no window. Stand-ins play the runtime: one refuses as Chromium does for root (its own words), one
 * crashes after two seconds, one hangs; one shows its page. The real start.ts is started, by a user who is not root.
 */
import { type ChildProcess, spawn, spawnSync } from "node:child_process";
import { chmodSync, chownSync, existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { afterEach, beforeAll, beforeEach, describe, expect, test, vi } from "vitest";
import { findElectron } from "../../../src/main/hosts/electron/find-electron.ts";
import { END_WITHIN_MS, runShell, SHOWN_LINE, SHOWN_WITHIN_MS } from "../../../src/main/hosts/electron/run-shell.ts";
import { ensureShell } from "../../../src/main/hosts/electron/shell-build.ts";
import { whyNoWindow } from "../../../src/main/hosts/electron/why-no-window.ts";
import { ensureScreens } from "../../../src/main/hosts/screens-build.ts";
import { enter } from "../../support/web-entry.ts";

const root = fileURLToPath(new URL("../../..", import.meta.url));
const PATIENCE = { timeout: 100_000, interval: 100 };
const isRoot = process.getuid?.() === 0;
/** Debian's user "nobody": somebody without rights. */
const NOBODY = 65534;
const somebody = isRoot ? { uid: NOBODY, gid: NOBODY } : {};
const canBeSomebody = process.platform === "linux" && spawnSync(process.execPath, ["-e", "0"], { ...somebody, cwd: root }).status === 0;
if (!canBeSomebody) console.warn("SKIPPED: npm start with stand-ins: no other user may read this folder, or this is not Linux");

let folder = "";
const started: ChildProcess[] = [];
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-first-"));
  if (isRoot) chownSync(folder, NOBODY, NOBODY);
});
afterEach(async () => {
  for (const child of started.splice(0)) {
    if (child.exitCode !== null || child.signalCode !== null) continue;
    const gone = new Promise((resolve) => child.once("exit", resolve));
    child.kill("SIGTERM");
    await gone;
  }
  rmSync(folder, { recursive: true, force: true });
});

/** A runtime that notes how it was started and then does `act`. */
function standIn(act: string): string {
  const dist = join(folder, "dist");
  mkdirSync(dist, { recursive: true });
  const file = join(dist, "electron");
  const note = join(folder, "started");
  writeFileSync(file, `#!/bin/sh\n{ echo "pid $$"; echo "$@"; env; } > ${note}.part; mv ${note}.part ${note}\n${act}\n`);
  chmodSync(file, 0o755);
  return file;
}
const note = () => (existsSync(join(folder, "started")) ? readFileSync(join(folder, "started"), "utf8") : null);
const isAlive = () => {
  try {
    return process.kill(Number(/pid (\d+)/.exec(note() ?? "")?.[1]), 0);
  } catch {
    return false;
  }
};

/** Processes of a group that are not dead: proc(5), stat, fields 3 and 5. A container may collect its dead processes late. */
const livingOf = (group: number) =>
  readdirSync("/proc").filter((entry) => {
    try {
      const [state, , pgrp] = readFileSync(`/proc/${entry}/stat`, "utf8").split(") ")[1]?.split(" ") ?? [];
      return Number(pgrp) === group && state !== "Z";
    } catch {
      return false;
    }
  });

const REFUSES = `echo "[4242:0504/100000.000000:FATAL:electron_main_delegate.cc(299)] Running as root without --no-sandbox is not supported. See https://crbug.com/638180." >&2; exit 1`;
const CRASHES = "sleep 2; kill -SEGV $$";
const HANGS = "trap '' TERM; while :; do sleep 0.2; done";
const SHOWS = `echo ${SHOWN_LINE}; while read -r line; do :; done; exit 0`;

describe.skipIf(process.platform !== "linux")("runShell()", () => {
  const shell = (act: string, shownWithinMs = 60_000) =>
    runShell({ executable: standIn(act), shellArguments: ["main.mjs"], shownWithinMs });

  test("a window that was shown and is closed by the person ends without a reason", async () => {
    expect(await shell(`echo something; echo ${SHOWN_LINE}; exit 0`).ended).toBeNull();
  });

  test.each([
    [REFUSES, "The window cannot be shown (Running as root without --no-sandbox is not supported. See https://crbug.com/638180.)"],
    ["echo 'error while loading shared libraries: libnss3.so: cannot open shared object file' >&2; exit 127", /libnss3\.so/],
    ["kill -SEGV $$", "The window cannot be shown (SIGSEGV)"],
    ["exit 0", "The window cannot be shown (exit code 0)"],
    [`echo not-${SHOWN_LINE}; exit 0`, "The window cannot be shown (exit code 0)"],
    [`echo ${SHOWN_LINE}; kill -SEGV $$`, "The window ended by itself (SIGSEGV)"],
    ["printf 'a\\033[2Jb\\007\\n' >&2; exit 1", "The window cannot be shown (a [2Jb)"],
  ])("one that does %j is given up with its reason in one line", async (act, why) => {
    expect(await shell(act).ended).toEqual(typeof why === "string" ? why : expect.stringMatching(why));
  });

  test("one that hangs, hears no signal and has helpers is ended whole", async () => {
    expect(await shell(`(${HANGS}) & ${HANGS}`, 300).ended).toBe("The window did not show itself within 0.3 s");
    expect(isAlive()).toBe(false);
    expect(livingOf(Number(/pid (\d+)/.exec(note() ?? "")?.[1]))).toEqual([]);
  });

  test("a runtime that is no program is an answer", async () => {
    const missing = runShell({ executable: join(folder, "nothing"), shellArguments: [] });
    expect(await missing.ended).toMatch(/ENOENT/);
  });

  test("it is never run without its sandbox, whatever the environment says, and sees the end of its starter at its input", async () => {
    vi.stubEnv("ELECTRON_DISABLE_SANDBOX", "1");
    const running = shell(SHOWS);
    await vi.waitFor(() => expect(note()).not.toBeNull(), PATIENCE);
    vi.unstubAllEnvs();
    expect(note()).not.toMatch(/no-sandbox|ELECTRON_DISABLE_SANDBOX/);
    await running.close();
    expect(isAlive()).toBe(false);
  });

  test("its limits stand under 15 s together", () => {
    expect(SHOWN_WITHIN_MS + 2 * END_WITHIN_MS).toBeLessThan(15_000);
  });
});

test("whyNoWindow() refuses root and a missing display on Linux alone", () => {
  const on = (platform: string, userId: number | undefined, environment = {}) => whyNoWindow({ platform, userId, environment });
  expect(on("linux", 0, { DISPLAY: ":0" })).toMatch(/root/);
  expect(on("linux", 1000)).toMatch(/no display/);
  expect(on("linux", 1000, { WAYLAND_DISPLAY: "" })).toMatch(/no display/);
  expect(on("linux", 1000, { DISPLAY: ":0" })).toBeNull();
  expect(on("linux", 1000, { WAYLAND_DISPLAY: "wayland-0" })).toBeNull();
  expect(on("darwin", 0)).toBeNull();
  expect(on("win32", undefined)).toBeNull();
});

describe("findElectron()", () => {
  /** A package whose download takes until a file lets it finish. */
  function slowPackage(): string {
    const packages = join(folder, "node_modules", "electron");
    mkdirSync(packages, { recursive: true });
    writeFileSync(
      join(packages, "install.js"),
      `const fs = require("fs"), path = require("path");
       fs.appendFileSync(path.join(__dirname, "fetches"), process.pid + "\\n");
       setInterval(() => {
         if (!fs.existsSync(path.join(__dirname, "line-is-there"))) return;
         fs.mkdirSync(path.join(__dirname, "dist"), { recursive: true });
         fs.writeFileSync(path.join(__dirname, "dist", "electron"), "");
         fs.writeFileSync(path.join(__dirname, "path.txt"), "electron");
         process.exit(0);
       }, 20);`,
    );
    return packages;
  }
  const fetches = (packages: string) =>
    existsSync(join(packages, "fetches")) ? readFileSync(join(packages, "fetches"), "utf8").trim().split("\n").map(Number) : [];

  test("a slow fetch goes on after the start that began it, is begun once, and the window is there at a next start", async () => {
    const packages = slowPackage();
    try {
      const first = await findElectron({ folder: packages, waitMs: 0, environment: {} });
      expect(first).toMatchObject({ executable: null, why: expect.stringMatching(/goes on in the background: .*at the next start/) });
      await vi.waitFor(() => expect(fetches(packages)).toHaveLength(1), PATIENCE);
      const second = await findElectron({ folder: packages, waitMs: 0, environment: {} });
      expect(second).toMatchObject({ executable: null, why: expect.stringMatching(/next start/) });
      expect(process.kill(fetches(packages)[0] ?? 0, 0)).toBe(true);
      writeFileSync(join(packages, "line-is-there"), "");
      expect(await findElectron({ folder: packages, waitMs: 60_000, environment: {} })).toEqual({
        executable: join(packages, "dist", "electron"),
      });
      expect(fetches(packages)).toHaveLength(1);
    } finally {
      writeFileSync(join(packages, "line-is-there"), "");
    }
  });

  test("a fetch that fails says so, and the next start tries again", async () => {
    const packages = join(folder, "node_modules", "electron");
    mkdirSync(packages, { recursive: true });
    writeFileSync(
      join(packages, "install.js"),
      `require("fs").appendFileSync(require("path").join(__dirname, "fetches"), "1\\n"); process.exit(1);`,
    );
    for (const times of [1, 2]) {
      const found = await findElectron({ folder: packages, waitMs: 60_000, environment: {} });
      expect(found).toEqual({ executable: null, why: "The Electron runtime is not here and cannot be fetched" });
      expect(fetches(packages)).toHaveLength(times);
    }
  });

  test("a folder that is named and holds no runtime is said, and nothing is fetched", async () => {
    const packages = slowPackage();
    const environment = { ELECTRON_OVERRIDE_DIST_PATH: join(folder, "empty") };
    expect(await findElectron({ folder: packages, waitMs: 0, environment })).toMatchObject({
      why: expect.stringMatching(/^ELECTRON_OVERRIDE_DIST_PATH/),
    });
    expect(fetches(packages)).toEqual([]);
  });
});

describe.skipIf(!canBeSomebody)("npm start", () => {
  beforeAll(async () => {
    // Built here: somebody else may not write into this folder.
    await ensureScreens(root);
    await ensureShell(root);
  });

  function start(environment: Record<string, string>, as: object = somebody) {
    let said = "";
    const child = spawn(
      process.execPath,
      [
        join(root, "src/main/hosts/start.ts"),
        "--no-open",
        "--port",
        "0",
        "--setup",
        join(folder, "new.json"),
        "--book",
        join(folder, "day.gripbook"),
      ],
      {
        ...as,
        cwd: folder,
        env: { PATH: process.env.PATH, HOME: folder, ELECTRON_OVERRIDE_DIST_PATH: join(folder, "dist"), ...environment },
        stdio: ["ignore", "pipe", "pipe"],
      },
    );
    started.push(child);
    for (const stream of [child.stdout, child.stderr]) {
      stream?.setEncoding("utf8").on("data", (text: string) => {
        said += text;
      });
    }
    return { child, said: () => said, lines: () => said.trim().split("\n") };
  }

  test.each([
    ["refuses", REFUSES, /^gripbook: The window cannot be shown \(Running as root .*\); showing the screens in a browser instead$/],
    ["crashes after two seconds", CRASHES, /^gripbook: The window cannot be shown \(SIGSEGV\); showing the screens in a browser instead$/],
    ["hangs", HANGS, /^gripbook: The window did not show itself within 10 s; showing the screens in a browser instead$/],
  ])("where the runtime %s, the same screens come in the browser with the reason in one line", async (_name, act, reason) => {
    standIn(act);
    const { said, lines } = start({ DISPLAY: ":99" });
    await vi.waitFor(() => expect(said()).toMatch(/Open this address/), PATIENCE);
    expect(lines()).toEqual([expect.stringMatching(reason), expect.stringMatching(/^gripbook: Open this address .* http:/)]);
    expect(isAlive()).toBe(false);
    expect(note()).not.toMatch(/no-sandbox/);
    const entered = await enter(/http:\S+/.exec(said())?.[0] ?? "");
    expect(entered.status).toBe(200);
  });

  test("a window that is shown stays the only one, and npm start ends with it", async () => {
    standIn(SHOWS);
    const { child, said } = start({ DISPLAY: ":99" });
    await vi.waitFor(() => expect(note()).not.toBeNull(), PATIENCE);
    const gone = new Promise((resolve) => child.once("exit", resolve));
    child.kill("SIGTERM");
    expect(await gone).toBe(0);
    expect(isAlive()).toBe(false);
    expect(said()).toBe("");
  });

  test.each([
    ["without a display", {}, somebody, /There is no display/],
    ...(isRoot ? ([["as root", { DISPLAY: ":99" }, {}, /No window of its own is opened for root/]] as const) : []),
  ] as const)("%s the window is not even tried", async (_name, environment, as, reason) => {
    standIn(SHOWS);
    const { said } = start(environment, as);
    await vi.waitFor(() => expect(said()).toMatch(/Open this address/), PATIENCE);
    expect(said()).toMatch(reason);
    expect(note()).toBeNull();
  });
});
