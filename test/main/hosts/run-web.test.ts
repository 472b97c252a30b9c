/**
 * Launcher, web host and measuring process as real processes: the host is killed while a page is open, and npm alone is told to end.
 * Signals after POSIX kill(2); what a page does over real sockets.
 */
import { type ChildProcess, spawn } from "node:child_process";
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import type { WebSocket } from "ws";
import { afterEach, beforeEach, expect, test, vi } from "vitest";
import { openSqliteBook } from "../../../src/main/adapters/sqlite/sqlite-book.ts";
import { type RunningWeb, runWeb } from "../../../src/main/hosts/web/run-web.ts";
import type { LiveEvent } from "../../../src/shared/contract/contract.ts";
import { addTimedRuns } from "../../support/timed-book.ts";
import { ask, askOver, enter, openSocket } from "../../support/web-entry.ts";
import { started } from "../../support/started.ts";

const root = fileURLToPath(new URL("../../..", import.meta.url));
const PATIENCE = { timeout: 120_000, interval: 50 };

let folder = "";
let running: RunningWeb | null = null;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-web-"));
  writeFileSync(join(folder, "index.html"), "<!doctype html>");
});
afterEach(async () => {
  await running?.close();
  running = null;
  rmSync(folder, { recursive: true, force: true });
});

/** The next live picture that a socket brings. */
function live(socket: WebSocket): Promise<LiveEvent> {
  return new Promise((resolve) => {
    const listen = (data: Buffer) => {
      const { event } = JSON.parse(data.toString()) as { event?: LiveEvent };
      if (event?.event !== "live") return;
      socket.off("message", listen);
      resolve(event);
    };
    socket.on("message", listen);
  });
}

test("a web host that is killed comes back at its address, an open page finds it with what it holds, and measuring has gone on", async () => {
  running = await runWeb({
    coreEntry: join(root, "test/support/fake-ingest.ts"),
    coreArguments: ["--fake"],
    screensFolder: folder,
    port: 0,
    open: false,
  });
  const { host } = running;
  const link = host.link();
  const entered = await enter(link);
  const socket = await openSocket(host.port, entered);
  await askOver(socket, 1, "drive.label", { label: "kept through it" });
  const lost = new Promise<void>((resolve) => socket.once("close", () => resolve()));
  for (let death = 0; death < 3; death += 1) {
    const before = host.pid();
    process.kill(started(before), "SIGKILL");
    await lost;
    await vi.waitFor(() => expect([before, undefined]).not.toContain(host.pid()), PATIENCE);
    const again = await vi.waitFor(() => openSocket(host.port, entered), PATIENCE);
    // The stand-in keeps the label in memory: it is the same process.
    expect((await live(again)).nextLabel).toBe("kept through it");
    expect(await askOver(again, 2, "runs.list", {})).toMatchObject({ ok: true });
    again.close();
  }
  // A used link stays used, and a link that was printed before is still valid.
  expect((await enter(link)).status).toBe(403);
  const fresh = await enter(host.link());
  expect(fresh.status).toBe(200);
  expect((await ask(`http://127.0.0.1:${host.port}/`, { Cookie: fresh.cookie })).status).toBe(200);
});

test.skipIf(process.platform === "win32")(
  "a web host that stands still is ended and comes back at its address, an open page finds it, and measuring has gone on",
  async () => {
    running = await runWeb({
      coreEntry: join(root, "test/support/fake-ingest.ts"),
      coreArguments: ["--fake"],
      screensFolder: folder,
      port: 0,
      open: false,
    });
    const { host } = running;
    const entered = await enter(host.link());
    const socket = await openSocket(host.port, entered);
    await askOver(socket, 1, "drive.label", { label: "kept through it" });
    const lost = new Promise<void>((resolve) => socket.once("close", () => resolve()));
    const before = host.pid();
    process.kill(started(before), "SIGSTOP");
    try {
      await vi.waitFor(() => expect([before, undefined]).not.toContain(host.pid()), PATIENCE);
    } finally {
      if (host.pid() === before) process.kill(started(before), "SIGKILL");
    }
    await lost;
    const again = await vi.waitFor(() => openSocket(host.port, entered), PATIENCE);
    expect((await live(again)).nextLabel).toBe("kept through it");
    again.close();
  },
);

test("another program that takes the port of a killed host learns nothing that opens the next one", async () => {
  const coreEntry = join(root, "test/support/fake-ingest.ts");
  running = await runWeb({ coreEntry, coreArguments: ["--fake"], screensFolder: folder, port: 0, open: false });
  const { host } = running;
  const link = host.link();
  const entered = await enter(host.link());
  const before = host.pid();
  process.kill(started(before), "SIGKILL");
  const squatter = createServer();
  await vi.waitFor(
    () =>
      new Promise<void>((resolve, reject) => {
        squatter.once("error", reject);
        squatter.listen(host.port, "127.0.0.1", resolve);
      }),
    PATIENCE,
  );
  // A host started meanwhile cannot open the port, and exits.
  const refused = new Set<number | undefined>();
  await vi.waitFor(() => {
    refused.add(host.pid());
    expect([...refused].filter((pid) => pid !== undefined && pid !== before).length).toBeGreaterThan(1);
  }, PATIENCE);
  await new Promise((resolve) => squatter.close(resolve));
  const fresh = await vi.waitFor(async () => {
    const again = await enter(host.link());
    expect(again.status).toBe(200);
    return again;
  }, PATIENCE);
  await expect(openSocket(host.port, entered)).rejects.toThrow("403");
  expect((await enter(link)).status).toBe(403);
  (await openSocket(host.port, fresh)).close();
});

test.skipIf(process.platform === "win32")(
  "a print that is under way ends with Gripbook, and leaves neither browser nor folder",
  async () => {
    const browser = join(folder, "browser");
    const note = join(folder, "printing");
    writeFileSync(browser, `#!/bin/sh\necho "$$ $@" > ${note}.part && mv ${note}.part ${note}\nexec sleep 600\n`, { mode: 0o755 });
    const coreEntry = join(folder, "core.mjs");
    writeFileSync(
      coreEntry,
      `process.on("message", ({ kind, id }) => {
       if (kind === "close") process.exit(0);
       process.send({ kind: "answer", id, ok: true, answer: { html: "<!doctype html>", name: "day" } });
     });
     process.send({ kind: "ready" });`,
    );
    vi.stubEnv("GRIPBOOK_CHROMIUM", browser);
    running = await runWeb({ coreEntry, coreArguments: [], screensFolder: folder, port: 0, open: false });
    vi.unstubAllEnvs();
    const { host } = running;
    const entered = await enter(host.link());
    const { answer: pass } = await askOver(await openSocket(host.port, entered), 1, "host.pass", {});
    const printing = ask(`http://127.0.0.1:${host.port}/report.pdf?pass=${pass}`, { Cookie: entered.cookie }).catch(() => "ended");
    await vi.waitFor(() => expect(existsSync(note)).toBe(true), PATIENCE);
    const [pid = "", ...given] = readFileSync(note, "utf8").split(" ");
    const page = fileURLToPath(given.find((one) => one.startsWith("file:"))?.trim() ?? "");
    expect(existsSync(page)).toBe(true);
    await running.close();
    running = null;
    expect(await printing).toBe("ended");
    expect(() => process.kill(Number(pid), 0)).toThrow("ESRCH");
    expect(existsSync(page)).toBe(false);
  },
);

test("a port that is taken rejects with its number, and leaves no process behind", async () => {
  const options = { coreEntry: join(root, "test/support/fake-ingest.ts"), coreArguments: ["--fake"], screensFolder: folder, open: false };
  running = await runWeb({ ...options, port: 0 });
  const { port } = running.host;
  await expect(runWeb({ ...options, port })).rejects.toThrow(`Port ${port} on 127.0.0.1 cannot be opened; give another with --port`);
});

/** Processes whose arguments name the folder. */
function processesOf(name: string): number[] {
  return readdirSync("/proc")
    .filter((entry) => /^\d+$/.test(entry) && Number(entry) !== process.pid)
    .filter((entry) => {
      try {
        return readFileSync(`/proc/${entry}/cmdline`, "utf8").includes(name);
      } catch {
        return false;
      }
    })
    .map(Number);
}

/** The web host of the launcher that works on the folder: its parent's number is the fourth field of proc(5), stat. */
function hostOf(name: string): number {
  const launchers = new Set(processesOf(name));
  const pid = readdirSync("/proc").find((entry) => {
    try {
      const parent = Number(readFileSync(`/proc/${entry}/stat`, "utf8").split(") ")[1]?.split(" ")[1]);
      return launchers.has(parent) && readFileSync(`/proc/${entry}/cmdline`, "utf8").includes("web-host-process.ts");
    } catch {
      return false;
    }
  });
  return Number(pid);
}

/** A book that holds something, so that the simulated car drives at once and not a whole day first. */
function begunBook(): string {
  const file = join(folder, "day.gripbook");
  addTimedRuns(file, [{ label: "off", seconds: 5 }]);
  return file;
}

/** Recordings of a book, also while another process writes it. */
function recordingsOf(file: string): string[] {
  const book = openSqliteBook({ file, create: false });
  try {
    return book.recordings().map(({ state }) => state);
  } finally {
    book.close();
  }
}

/** `npm start` that records into a book in the folder; resolves once it does. */
async function npmStart(): Promise<{ readonly npm: ChildProcess; readonly file: string; readonly said: () => string }> {
  const file = begunBook();
  const before = recordingsOf(file).length;
  let said = "";
  const npm = spawn("npm", ["start", "--", "--web", "--no-open", "--port", "0", "--book", file], {
    cwd: root,
    env: { ...process.env, HOME: folder, XDG_DATA_HOME: join(folder, "data") },
    stdio: ["ignore", "pipe", "pipe"],
    // A group of its own, as a shell gives it to what is typed.
    detached: true,
  });
  for (const stream of [npm.stdout, npm.stderr]) {
    stream?.setEncoding("utf8").on("data", (text: string) => {
      said += text;
    });
  }
  await vi.waitFor(() => expect(said).toMatch(/Open this address/), { timeout: 100_000, interval: 100 });
  await vi.waitFor(() => expect(recordingsOf(file).slice(before)).toEqual(["open"]), { timeout: 100_000, interval: 100 });
  return { npm, file, said: () => said };
}

test.skipIf(!existsSync("/proc/self/cmdline")).each(["SIGTERM", "SIGKILL"] as const)(
  "npm that gets %s alone leaves nothing behind, and the recording is closed",
  async (signal) => {
    const { npm, file } = await npmStart();
    expect(processesOf(folder).length).toBeGreaterThan(2);
    npm.kill(signal);
    try {
      await vi.waitFor(() => expect(processesOf(folder)).toEqual([]), PATIENCE);
    } finally {
      for (const pid of processesOf(folder)) process.kill(pid, "SIGKILL");
    }
    expect(recordingsOf(file).at(-1)).toBe("closed");
  },
);

test.skipIf(!existsSync("/proc/self/cmdline"))(
  "started away from any terminal it goes on recording when one is closed, though npm does not, and ends whole when it is told to",
  async () => {
    const { npm, file, said } = await npmStart();
    const before = recordingsOf(file);
    // What a closing terminal, or the shell in it, sends to all of a job (POSIX, General Terminal Interface, "Modem Disconnect").
    process.kill(-started(npm.pid), "SIGHUP");
    try {
      await vi.waitFor(() => expect(said()).toMatch(/recording goes on without it/), PATIENCE);
      await vi.waitFor(() => expect(npm.exitCode ?? npm.signalCode).not.toBeNull(), PATIENCE);
      // Long enough for several looks at npm, which is gone.
      const book = openSqliteBook({ file, create: false });
      const id = book.recordings().at(-1)?.id ?? 0;
      const lastNs = () => [...book.packets(id)].at(-1)?.arrivalNs ?? 0;
      const fromNs = lastNs();
      await vi.waitFor(() => expect(lastNs() - fromNs).toBeGreaterThan(3e9), PATIENCE);
      book.close();
      expect(recordingsOf(file)).toEqual(before);
      process.kill(Number(/`kill (\d+)` ends it/.exec(said())?.[1]), "SIGTERM");
      await vi.waitFor(() => expect(processesOf(folder)).toEqual([]), PATIENCE);
    } finally {
      for (const pid of processesOf(folder)) process.kill(pid, "SIGKILL");
    }
    expect(recordingsOf(file)).toEqual(before.map(() => "closed"));
  },
);

test.skipIf(!existsSync("/proc/self/cmdline"))(
  "a launcher that is killed takes host and measuring process along, and the recording is closed",
  async () => {
    const { file } = await npmStart();
    const launcher = processesOf(folder).find((pid) => /node\0.*hosts\/start\.ts/.test(readFileSync(`/proc/${pid}/cmdline`, "utf8")));
    process.kill(started(launcher), "SIGKILL");
    try {
      await vi.waitFor(() => expect(processesOf(folder)).toEqual([]), PATIENCE);
    } finally {
      for (const pid of processesOf(folder)) process.kill(pid, "SIGKILL");
    }
    expect(recordingsOf(file).at(-1)).toBe("closed");
  },
);

test.skipIf(!existsSync("/proc/self/cmdline"))("a web host that is killed while a recording goes leaves no gap in it", async () => {
  const { npm, file, said } = await npmStart();
  for (let death = 1; death <= 2; death += 1) {
    process.kill(hostOf(folder), "SIGKILL");
    await vi.waitFor(() => expect(said().match(/The screens are back/g)).toHaveLength(death), PATIENCE);
  }
  npm.kill("SIGTERM");
  await vi.waitFor(() => expect(processesOf(folder)).toEqual([]), PATIENCE);
  expect(recordingsOf(file)).toEqual(["closed", "closed"]);
  const book = openSqliteBook({ file, create: false });
  const recording = book.recordings().at(-1)?.id ?? 0;
  expect(book.gaps(recording)).toEqual([]);
  book.close();
});

test.skipIf(!existsSync("/proc/self/cmdline"))(
  "Ctrl-C, which reaches every process of the terminal, closes the recording and starts nothing again",
  async () => {
    const { npm, file, said } = await npmStart();
    process.kill(-started(npm.pid), "SIGINT");
    await vi.waitFor(() => expect(processesOf(folder)).toEqual([]), PATIENCE);
    expect(recordingsOf(file)).toEqual(["closed", "closed"]);
    expect(said()).not.toMatch(/started again|Error/);
  },
);
