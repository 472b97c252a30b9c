/**
 * Runs our shell in the Electron runtime. The window counts as shown once the page in it has said so; a shell that refuses, crashes or says nothing in
 * time is ended whole, with the reason as the answer. It always has its sandbox.
 */
import { type ChildProcess, spawn } from "node:child_process";

/** What the shell prints on its output once its page has drawn a frame. */
export const SHOWN_LINE = "gripbook-window-shown";
/** Together under the 15 s after which the screens must stand somewhere else. */
export const SHOWN_WITHIN_MS = 10_000;
export const END_WITHIN_MS = 1_000;
/** A shell that has measured closes its recording first. */
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
  /** Null once the person has closed the window; else why there is none. */
  readonly ended: Promise<string | null>;
  /** Ends it; the recording is closed first. */
  close(): Promise<void>;
}

/** The line that says most: Chromium's fatal one, before its stack, else the last. */
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

/** Signals the shell and everything that it started; false where nothing of it is left. Windows has no groups, and ends helpers with their parent. */
function signalAll(child: ChildProcess, name: "SIGTERM" | "SIGKILL" | 0): boolean {
  if (child.pid === undefined) return false;
  if (process.platform === "win32") return name === 0 ? !hasExited(child) : child.kill(name);
  try {
    return process.kill(-child.pid, name);
  } catch {
    return false;
  }
}

/** Asks the shell, which closes its recording and ends its helpers; then what it left behind; then ends all. */
async function endAll(child: ChildProcess, withinMs: number): Promise<void> {
  const until = performance.now() + withinMs;
  if (!hasExited(child)) child.kill("SIGTERM");
  let asked = false;
  let killed = false;
  // What is dead and not yet buried still counts as there: that is waited for no longer than a while.
  while (signalAll(child, 0) && performance.now() < until + END_WITHIN_MS) {
    if (!asked && hasExited(child)) asked = signalAll(child, "SIGTERM");
    if (!killed && performance.now() > until) killed = signalAll(child, "SIGKILL");
    await new Promise((resolve) => setTimeout(resolve, LOOK_MS));
  }
}

/** Chromium runs without its sandbox where this stands in the environment. */
function sandboxed(environment: NodeJS.ProcessEnv): NodeJS.ProcessEnv {
  const { ELECTRON_DISABLE_SANDBOX: _sandbox, ELECTRON_RUN_AS_NODE: _node, ...rest } = environment;
  return rest;
}

export function runShell({ executable, shellArguments, shownWithinMs = SHOWN_WITHIN_MS }: RunShellOptions): RunningShell {
  // A group of its own, so that it can be ended whole; it sees the end of this process at its input.
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
    // Before it is shown it is only kept for the reason: a start that goes on in the browser is told in one line.
    if (isShown) process.stderr.write(more);
    else said = `${said}${more}`.slice(0, MOST_TEXT);
  });

  const exited = new Promise<string | null>((resolve) => {
    child.once("error", (error) => resolve(error.message));
    const end = () => resolve(child.exitCode === 0 && isShown ? null : (child.signalCode ?? `exit code ${child.exitCode}`));
    child.once("close", end);
    // What it started may hold its output open for ever.
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
