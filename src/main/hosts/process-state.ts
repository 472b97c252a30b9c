/**
 * What a process does, as the system sees it: proc(5) on Linux, ps(1) on macOS. Where nobody can tell (Windows, a process that has gone) it is
 * "unknown". Never fails.
 */
import { execFile } from "node:child_process";
import { readFile } from "node:fs/promises";
import { promisify } from "node:util";

/**
 * "stopped": by a signal or a debugger. "drive": it waits for a disk and cannot even be killed meanwhile. "waiting": for something else.
 * "running": it works, or waits for its turn.
 */
type ProcessState = "stopped" | "drive" | "waiting" | "running" | "unknown";

export interface ProcessLook {
  readonly state: ProcessState;
  /** Processor time so far, seconds; NaN where nobody can tell. */
  readonly cpuS: number;
}

const UNKNOWN: ProcessLook = { state: "unknown", cpuS: Number.NaN };
/** Of sysconf(_SC_CLK_TCK) on every Linux that Node runs on. */
const TICKS_A_SECOND = 100;
const STATES: Readonly<Record<string, ProcessState>> = {
  T: "stopped",
  t: "stopped",
  D: "drive",
  U: "drive",
  S: "waiting",
  I: "waiting",
  R: "running",
};
const run = promisify(execFile);

const stateOf = (letter: string | undefined): ProcessState => STATES[letter ?? ""] ?? "unknown";

/** The main thread's state, and the processor time of all threads. */
async function lookInProc(pid: number): Promise<ProcessLook> {
  const text = await readFile(`/proc/${pid}/stat`, "utf8");
  // The name in brackets may hold anything.
  const [state, ...fields] = text.slice(text.lastIndexOf(")") + 2).split(" ");
  return { state: stateOf(state), cpuS: (Number(fields[10]) + Number(fields[11])) / TICKS_A_SECOND };
}

/** "12:34.56" or "1:02:03". */
const secondsOf = (time: string) => time.split(":").reduce((sum, part) => sum * 60 + Number(part), 0);

async function lookByPs(pid: number): Promise<ProcessLook> {
  const { stdout } = await run("ps", ["-o", "stat=,time=", "-p", String(pid)]);
  const [state, time] = stdout.trim().split(/\s+/);
  return { state: stateOf(state?.[0]), cpuS: secondsOf(time ?? "") };
}

export async function lookAtProcess(pid: number | undefined): Promise<ProcessLook> {
  if (pid === undefined || process.platform === "win32") return UNKNOWN;
  try {
    return await (process.platform === "linux" ? lookInProc(pid) : lookByPs(pid));
  } catch {
    return UNKNOWN;
  }
}
