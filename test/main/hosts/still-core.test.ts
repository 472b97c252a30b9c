/**
 * What is done about a measuring process that lives and says nothing. The outside reference is what the kernel says of real processes: stopped by
 * SIGSTOP, asleep, in an endless loop, and in the uninterruptible wait that vfork(2) puts a parent into, as a disk does.
 */
import { type ChildProcess, spawn, spawnSync } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, test, vi } from "vitest";
import { lookAtProcess, type ProcessLook } from "../../../src/main/hosts/process-state.ts";
import { watchStillCore } from "../../../src/main/hosts/still-core.ts";

const PATIENCE = { timeout: 60_000, interval: 50 };
/** A name, not a file, so that PATH finds it. */
const COMPILER = "cc";
const whyNot = process.platform !== "linux" ? "the states of processes are tried on Linux" : null;
const whyNoCompiler = whyNot ?? (spawnSync(COMPILER, ["--version"]).error === undefined ? null : "a C compiler (cc) is not installed");
for (const why of new Set([whyNot, whyNoCompiler])) if (why !== null) console.warn(`skipped: a process that stands still: ${why}`);

let folder = "";
const children: ChildProcess[] = [];
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-still-"));
});
afterEach(() => {
  vi.useRealTimers();
  for (const child of children.splice(0)) if (child.pid !== undefined) process.kill(-child.pid, "SIGKILL");
  rmSync(folder, { recursive: true, force: true });
});

/** In a group of its own, so that its own child ends with it. */
function begin(program: string, ...given: string[]): number {
  const child = spawn(program, given, { stdio: "ignore", detached: true });
  children.push(child);
  return child.pid ?? 0;
}

const stateOf = async (pid: number) => (await lookAtProcess(pid)).state;

describe.skipIf(whyNot !== null)("lookAtProcess", () => {
  test("tells stopped, asleep and at work apart, with the processor time used", async () => {
    const asleep = begin("sleep", "100");
    const busy = begin("sh", "-c", "while :; do :; done");
    const stopped = begin("sleep", "100");
    process.kill(stopped, "SIGSTOP");
    await vi.waitFor(async () => expect(await stateOf(asleep)).toBe("waiting"), PATIENCE);
    await vi.waitFor(async () => expect(await stateOf(stopped)).toBe("stopped"), PATIENCE);
    await vi.waitFor(async () => expect((await lookAtProcess(busy)).cpuS).toBeGreaterThan(0.2), PATIENCE);
    expect(await stateOf(busy)).toBe("running");
    expect((await lookAtProcess(asleep)).cpuS).toBeLessThan(0.2);
    expect(await stateOf(2 ** 22 + 1)).toBe("unknown");
  });

  test.skipIf(whyNoCompiler !== null)("tells a process that nothing interrupts, as one that waits for a disk", async () => {
    const source = join(folder, "uninterruptible.c");
    const program = join(folder, "uninterruptible");
    writeFileSync(source, "#include <unistd.h>\nint main(void) { if (vfork() == 0) { sleep(100); _exit(0); } return 0; }\n");
    expect(spawnSync(COMPILER, ["-o", program, source]).status).toBe(0);
    const pid = begin(program);
    await vi.waitFor(async () => expect(await stateOf(pid)).toBe("drive"), PATIENCE);
  });
});

describe("watchStillCore", () => {
  /** Silent for `seconds` in the states given, one a second; what was told, and whether it was ended. */
  async function silent(seconds: number, look: (second: number) => ProcessLook) {
    vi.useFakeTimers();
    const told: (string | null)[] = [];
    let killed = 0;
    let second = 0;
    const watch = watchStillCore({
      pid: 1,
      kill: () => {
        killed += 1;
      },
      tell: (text) => told.push(text),
      stillAfterS: 20,
      look: async () => look(second),
    });
    for (; second < seconds; second += 1) await vi.advanceTimersByTimeAsync(1000);
    const before = killed;
    watch.heard();
    await vi.advanceTimersByTimeAsync(19_000);
    watch.stop();
    return { told, killed: before, later: killed - before };
  }

  test("one that waits for its drive is told of, and never ended", async () => {
    expect(await silent(3600, () => ({ state: "drive", cpuS: 1 }))).toEqual({
      told: [expect.stringMatching(/^Measuring waits for the drive/), null],
      killed: 0,
      later: 0,
    });
  });

  test("one that gets no processor time on a busy computer is told of, and never ended", async () => {
    const { told, killed } = await silent(3600, (second) => ({ state: "running", cpuS: second * 0.01 }));
    expect(killed).toBe(0);
    expect(told).toEqual([expect.stringMatching(/^Measuring does not answer/), null]);
  });

  test("one of which nobody can tell is told of, and never ended", async () => {
    expect((await silent(3600, () => ({ state: "unknown", cpuS: Number.NaN }))).killed).toBe(0);
  });

  test("one in an endless loop is ended after a minute of processor time, once", async () => {
    const { told, killed } = await silent(200, (second) => ({ state: "running", cpuS: second }));
    expect(killed).toBe(1);
    expect(told.join("\n")).toMatch(/stands still since 8\d s and is ended/);
  });

  test.each(["stopped", "waiting"] as const)("one that is %s is ended after twenty seconds, and not before", async (state) => {
    expect((await silent(19, () => ({ state, cpuS: 1 }))).killed).toBe(0);
    expect((await silent(22, () => ({ state, cpuS: 1 }))).killed).toBe(1);
  });
});
