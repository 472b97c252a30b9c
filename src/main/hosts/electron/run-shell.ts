/**
 * Runs our program in the Electron runtime. The window counts as shown once its page has said so. A program that refuses, crashes or says
 * nothing in time is ended with all its processes, and the answer is the reason. It always runs with its sandbox.
 */
import { type ChildProcess, spawn } from "node:child_process";

/** What the program prints once its page has drawn a frame. */
export const SHOWN_LINE = "gripbook-window-shown";
/** Together less than the 15 s after which the screens must be open in a browser. */
export const SHOWN_WITHIN_MS = 10_000;
export const END_WITHIN_MS = 1_000;
/** A program that has measured closes its recording first. */
const CLOSE_WITHIN_MS = 120_000;
const LOOK_MS = 20;
const LAST_WORDS_MS = 500;
const MOST_TEXT = 8_000;
const LONGEST_REASON = 200;

export interface RunShellOptions {
  readonly executable: string;
  readonly shellArguments: readonly string[];
  readonly shownWithinMs?: number;
}

export interface RunningShell {
  /** Null once the person has closed the window; otherwise why there is no window. */
  readonly ended: Promise<string | null>;
  /** Ends it; the recording is closed first. */
  close(): Promise<void>;
}

/** The most informative line: Chromium's fatal one, before its stack; otherwise the last. */
function reasonOf(said: string, how: string): string {
  const lines = said.split("\n").filter((line) => line.trim() !== "");
  const line = lines.find((one) => one.includes(":FATAL:")) ?? lines.at(-1) ?? how;
  return line
    .replace(/^\[[^\]]*\]\s*/, "")
    .replaceAll(/\p{Cc}+/gu, " ")
    .trim()
    .slice(0, LONGEST_REASON);
}

const hasExited = (child: ChildProcess) => child.exitCode !== null || child.signalCode !== null || child.pid === undefined;

/**
 * Signals the program and everything that it started; false where nothing of it is left. Windows has no process groups, and ends helpers
 * with their parent.
 */
function signalAll(child: ChildProcess, name: "SIGTERM" | "SIGKILL" | 0): boolean {
  if (child.pid === undefined) return false;
  if (process.platform === "win32") return name === 0 ? !hasExited(child) : child.kill(name);
  try {
    return process.kill(-child.pid, name);
  } catch {
    return false;
  }
}

/** Asks the program, which closes its recording and ends its helpers; then ends what is left. */
async function endAll(child: ChildProcess, withinMs: number): Promise<void> {
  const until = performance.now() + withinMs;
  if (!hasExited(child)) child.kill("SIGTERM");
  let asked = false;
  let killed = false;
  // A dead process that its parent has not collected yet still counts as running, so the wait is limited.
  while (signalAll(child, 0) && performance.now() < until + END_WITHIN_MS) {
    if (!asked && hasExited(child)) asked = signalAll(child, "SIGTERM");
    if (!killed && performance.now() > until) killed = signalAll(child, "SIGKILL");
    await new Promise((resolve) => setTimeout(resolve, LOOK_MS));
  }
}

/** Chromium runs without its sandbox where this variable is set. */
function sandboxed(environment: NodeJS.ProcessEnv): NodeJS.ProcessEnv {
  const { ELECTRON_DISABLE_SANDBOX: _sandbox, ELECTRON_RUN_AS_NODE: _node, ...rest } = environment;
  return rest;
}

export function runShell({ executable, shellArguments, shownWithinMs = SHOWN_WITHIN_MS }: RunShellOptions): RunningShell {
  // In a process group of its own, so that all of it can be ended; it sees the end of this process on its input.
  const child = spawn(executable, [...shellArguments], {
    stdio: ["pipe", "pipe", "pipe"],
    detached: process.platform !== "win32",
    env: sandboxed(process.env),
  });
  for (const stream of [child.stdin, child.stdout, child.stderr]) stream.on("error", () => undefined);
  let isShown = false;
  let isClosing = false;
  let text = "";
  let said = "";

  child.stdout.setEncoding("utf8").on("data", (more: string) => {
    text = `${text}${more}`.slice(-MOST_TEXT);
    if (isShown || !text.split("\n").includes(SHOWN_LINE)) return;
    isShown = true;
    process.stderr.write(said);
  });
  child.stderr.setEncoding("utf8").on("data", (more: string) => {
    // Before it is shown, its output is only kept for the reason: a start that continues in the browser prints one line.
    if (isShown) process.stderr.write(more);
    else said = `${said}${more}`.slice(0, MOST_TEXT);
  });

  const exited = new Promise<string | null>((resolve) => {
    child.once("error", (error) => resolve(error.message));
    const end = () => resolve(child.exitCode === 0 && isShown ? null : (child.signalCode ?? `exit code ${child.exitCode}`));
    child.once("close", end);
    // Processes that it started may hold its output open for ever.
    child.once("exit", () => setTimeout(end, LAST_WORDS_MS));
  });
  const late = new Promise<"late">((resolve) => {
    const timer = setTimeout(() => (isShown ? undefined : resolve("late")), shownWithinMs);
    void exited.then(() => clearTimeout(timer));
  });

  async function watch(): Promise<string | null> {
    const how = await Promise.race([exited, late]);
    if (isClosing) return null;
    await endAll(child, isShown ? CLOSE_WITHIN_MS : END_WITHIN_MS);
    if (how === null) return null;
    if (how === "late") return `The window did not show itself within ${shownWithinMs / 1000} s`;
    return isShown ? `The window ended by itself (${how})` : `The window cannot be shown (${reasonOf(said, how)})`;
  }

  return {
    ended: watch(),
    async close() {
      isClosing = true;
      await endAll(child, CLOSE_WITHIN_MS);
    },
  };
}
