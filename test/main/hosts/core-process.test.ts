/** The supervisor: against a hand-driven child for order, and against a real child process for a real crash. */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { afterEach, expect, test, vi } from "vitest";
import type { CoreEvent } from "../../../src/shared/contract/contract.ts";
import type { ToCore } from "../../../src/main/hosts/core-messages.ts";
import { type CoreChild, superviseCore } from "../../../src/main/hosts/core-process.ts";
import { forkCore } from "../../../src/main/hosts/fork-core.ts";
import { started } from "../../support/started.ts";
import { lookAtProcess } from "../../../src/main/hosts/process-state.ts";

function handDriven() {
  const children: {
    sent: ToCore[];
    message: (message: unknown) => void;
    exit: (code: number | null, lastLine?: string) => void;
    killed: boolean;
  }[] = [];
  const spawn = (): CoreChild => {
    const child = {
      sent: [] as ToCore[],
      message: (_: unknown): void => undefined,
      exit: (_: number | null, _line?: string): void => undefined,
      killed: false,
    };
    children.push(child);
    return {
      pid: undefined,
      send: (message) => child.sent.push(message),
      onMessage: (listener) => {
        child.message = listener;
      },
      onExit: (listener) => {
        child.exit = (code, lastLine = "") => listener(code, lastLine);
      },
      kill: () => {
        child.killed = true;
        child.exit(null);
      },
    };
  };
  const last = () => children[children.length - 1] as (typeof children)[number];
  return { children, spawn, last };
}

afterEach(() => vi.useRealTimers());

test("superviseCore() holds requests until ready, then carries answers and errors by id", async () => {
  const { spawn, last } = handDriven();
  const core = superviseCore({ spawn, report: () => undefined });
  const first = core.request("book.open", {});
  const second = core.request("run.show", { run: 9 });
  expect(last().sent).toEqual([]);
  last().message({ kind: "ready" });
  expect(last().sent.map((message) => message.kind === "request" && message.name)).toEqual(["book.open", "run.show"]);
  last().message({ kind: "answer", id: 2, ok: false, error: "Run 9 is not in this book" });
  last().message({ kind: "answer", id: 1, ok: true, answer: { car: "Odrel" } });
  await expect(second).rejects.toThrow("Run 9 is not in this book");
  await expect(first).resolves.toEqual({ car: "Odrel" });
});

test("superviseCore() starts a dead process again within a second, tells the page, and fails what waited", async () => {
  vi.useFakeTimers();
  const { children, spawn, last } = handDriven();
  const lines: string[] = [];
  const events: CoreEvent[] = [];
  const core = superviseCore({ spawn, report: (line) => lines.push(line) });
  core.onEvent((event) => events.push(event));
  last().message({ kind: "ready" });
  const waiting = core.request("runs.list", {});
  const failed = expect(waiting).rejects.toThrow("stopped (code 7)");
  last().exit(7);
  await failed;
  expect(events.at(-1)).toMatchObject({ event: "notice", key: "core", text: expect.stringContaining("started again") });
  await vi.advanceTimersByTimeAsync(1_000);
  expect(children).toHaveLength(2);
  last().message({ kind: "ready" });
  expect(events.at(-1)).toMatchObject({ key: "core", text: expect.stringContaining("Arm again") });
  void core.request("drive.arm", {});
  expect(events.at(-1)).toEqual({ event: "notice", key: "core", text: null });
});

test("superviseCore() waits longer when the process dies before it is ready, at most 5 s", async () => {
  vi.useFakeTimers();
  const { children, spawn, last } = handDriven();
  superviseCore({ spawn, report: () => undefined });
  for (let death = 1; death <= 8; death += 1) {
    last().exit(1);
    await vi.advanceTimersByTimeAsync(5_000);
    expect(children).toHaveLength(death + 1);
  }
  last().exit(1);
  await vi.advanceTimersByTimeAsync(1_000);
  expect(children).toHaveLength(9);
});

test("superviseCore() tells a page that comes later which notices stand, until they are cleared or their process dies", () => {
  const { spawn, last } = handDriven();
  const core = superviseCore({ spawn, report: () => undefined });
  const heard = () => {
    const events: CoreEvent[] = [];
    core.onEvent((event) => events.push(event))();
    return events.map((event) => event.event === "notice" && `${event.key}: ${event.text}`);
  };
  last().message({ kind: "event", event: { event: "notice", key: "gnss", text: "port is not there" } });
  last().message({ kind: "event", event: { event: "notice", key: "can", text: "silent" } });
  expect(heard()).toEqual(["gnss: port is not there", "can: silent"]);
  last().message({ kind: "event", event: { event: "notice", key: "can", text: null } });
  expect(heard()).toEqual(["gnss: port is not there"]);
  last().exit(1);
  expect(heard()).toEqual([expect.stringMatching(/^core: .*stopped \(code 1\)/)]);
});

test("superviseCore() says why a process does not start, and nothing more once it did", async () => {
  vi.useFakeTimers();
  const { spawn, last } = handDriven();
  const texts: (string | null)[] = [];
  const core = superviseCore({ spawn, report: () => undefined });
  core.onEvent((event) => event.event === "notice" && texts.push(event.text));
  const why = "Book day.gripbook: another Gripbook records into it; close that one or name another book";
  const asked = expect(core.request("book.open", {})).rejects.toThrow(why);
  last().exit(1, why);
  await asked;
  expect(texts).toEqual([`Measuring does not start: ${why}. It is tried again`]);
  await vi.advanceTimersByTimeAsync(1_000);
  last().message({ kind: "ready" });
  expect(texts.at(-1)).toBeNull();
});

test("superviseCore() gives up on a process that was given bad input, and shows its own line", async () => {
  vi.useFakeTimers();
  const { children, spawn, last } = handDriven();
  const events: CoreEvent[] = [];
  const core = superviseCore({ spawn, report: () => undefined });
  core.onEvent((event) => events.push(event));
  last().exit(2, "odrel.json: car.massKg: expected a number over 0, got -3");
  await vi.advanceTimersByTimeAsync(60_000);
  expect(children).toHaveLength(1);
  expect(events).toEqual([{ event: "notice", key: "core", text: "odrel.json: car.massKg: expected a number over 0, got -3" }]);
  await expect(core.request("book.open", {})).rejects.toThrow("odrel.json: car.massKg");
});

test("superviseCore() reports a message of unknown shape and goes on", () => {
  const { spawn, last } = handDriven();
  const lines: string[] = [];
  superviseCore({ spawn, report: (line) => lines.push(line) });
  for (const message of [null, 3, "ready", { kind: "answer", id: "1", ok: true }, { kind: "event" }]) last().message(message);
  expect(lines).toHaveLength(5);
});

test("superviseCore() asks for a close, kills after the grace time, and starts nothing again", async () => {
  vi.useFakeTimers();
  const { children, spawn, last } = handDriven();
  const core = superviseCore({ spawn, report: () => undefined, graceMs: 100 });
  last().message({ kind: "ready" });
  const closed = core.close();
  expect(last().sent).toEqual([{ kind: "close" }]);
  await vi.advanceTimersByTimeAsync(100);
  await closed;
  expect(children[0]?.killed).toBe(true);
  await vi.advanceTimersByTimeAsync(10_000);
  expect(children).toHaveLength(1);
  await expect(core.request("runs.list", {})).rejects.toThrow("closing");
});

test("forkCore() and superviseCore() outlive a real crash of a real child process", async () => {
  const entry = fileURLToPath(new URL("../../support/fake-ingest.ts", import.meta.url));
  const core = superviseCore({ spawn: () => forkCore({ entry, argv: [] }), report: () => undefined });
  await expect(core.request("book.open", {})).resolves.toMatchObject({ car: "Odrel" });
  await expect(core.request("drive.mark", { note: "crash" })).rejects.toThrow("stopped (code 7)");
  await expect(core.request("book.open", {})).resolves.toMatchObject({ simulated: true });
  await core.close();
});

test("forkCore() and superviseCore() outlive a child that is killed in the middle of requests", async () => {
  const broken: unknown[] = [];
  const note = (error: unknown) => broken.push(error);
  process.on("uncaughtException", note);
  const pids: number[] = [];
  const spawn = () => {
    const child = forkCore({ entry: fileURLToPath(new URL("../../support/fake-ingest.ts", import.meta.url)), argv: [] });
    pids.push(started(child.pid));
    return child;
  };
  const core = superviseCore({ spawn, report: () => undefined, firstDelayMs: 1 });
  try {
    for (let death = 0; death < 5; death += 1) {
      await vi.waitFor(() => expect(core.request("runs.list", {})).resolves.toHaveLength(12), { timeout: 120_000, interval: 20 });
      const asked: Promise<unknown>[] = [];
      process.kill(started(pids.at(-1)), "SIGKILL");
      // 2 MB each, so that some stand in the pipe when it breaks.
      for (let i = 0; i < 20; i += 1) asked.push(core.request("drive.mark", { note: "x".repeat(2_000_000) }).catch(() => "refused"));
      expect(new Set(await Promise.all(asked))).toEqual(new Set(["refused"]));
    }
    expect(broken).toEqual([]);
  } finally {
    process.off("uncaughtException", note);
    await core.close();
  }
});

test("forkCore() tells a process that could not be started at all as one that ended", async () => {
  const folder = mkdtempSync(join(tmpdir(), "gripbook-none-"));
  const execPath = process.execPath;
  process.execPath = join(folder, "no-such-program");
  try {
    const child = forkCore({ entry: "nothing.ts", argv: [] });
    expect(await new Promise((resolve) => child.onExit((code, line) => resolve([code, line])))).toEqual([
      null,
      expect.stringMatching(/ENOENT/),
    ]);
  } finally {
    process.execPath = execPath;
    rmSync(folder, { recursive: true, force: true });
  }
});

const STAND_IN = fileURLToPath(new URL("../../support/fake-ingest.ts", import.meta.url));
const still = test.skipIf(process.platform === "win32");

/** The stand-in supervised, what is reported, and the processes that there were. */
function supervised(stillAfterS: number) {
  const reported: string[] = [];
  const pids: number[] = [];
  const core = superviseCore({
    spawn() {
      const child = forkCore({ entry: STAND_IN, argv: [] });
      pids.push(started(child.pid));
      return child;
    },
    report: (line) => reported.push(line),
    stillAfterS,
  });
  return { core, reported, pids };
}

const PATIENCE = { timeout: 60_000, interval: 50 };

still("a measuring process that stands still is ended and started again, and says so", async () => {
  const { core, reported, pids } = supervised(3);
  try {
    await core.request("runs.list", {});
    process.kill(started(pids[0]), "SIGSTOP");
    await vi.waitFor(() => expect(reported.at(-1)).toMatch(/had stopped and was started again/), PATIENCE);
    expect(reported[0]).toMatch(/^The measuring process stands still since \d+ s and is ended$/);
    expect(pids).toHaveLength(2);
    expect(await core.request("runs.list", {})).toHaveLength(12);
  } finally {
    if (pids.length === 1) process.kill(started(pids[0]), "SIGKILL");
    await core.close();
  }
});

still("a measuring process that was stopped for less than that goes on", async () => {
  const { core, reported, pids } = supervised(60);
  try {
    await core.request("runs.list", {});
    process.kill(started(pids[0]), "SIGSTOP");
    await vi.waitFor(async () => expect((await lookAtProcess(pids[0])).state).toBe("stopped"), PATIENCE);
    process.kill(started(pids[0]), "SIGCONT");
    expect(await core.request("runs.list", {})).toHaveLength(12);
    expect(reported).toEqual([]);
    expect(pids).toHaveLength(1);
  } finally {
    await core.close();
  }
});
