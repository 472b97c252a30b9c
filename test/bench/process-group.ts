/** What a group of processes takes of this computer, as Linux counts it (proc(5)): processor time and resident memory. */
import { readdirSync, readFileSync } from "node:fs";

/** Clock ticks a second, on every Linux of today. */
const TICKS_A_SECOND = 100;

export interface ProcessTaken {
  readonly pid: number;
  readonly parent: number;
  readonly group: number;
  /** Its command line, words apart. */
  readonly command: string;
  readonly processorS: number;
  readonly residentMb: number;
  readonly mostResidentMb: number;
}

/** Null where the process has gone meanwhile. */
function takenBy(pid: number): ProcessTaken | null {
  try {
    const fields = readFileSync(`/proc/${pid}/stat`, "utf8").split(") ").at(-1)?.split(" ") ?? [];
    const status = readFileSync(`/proc/${pid}/status`, "utf8");
    const mb = (key: string) => (Number(new RegExp(`^${key}:\\s+(\\d+)`, "m").exec(status)?.[1] ?? Number.NaN) * 1024) / 1e6;
    return {
      pid,
      parent: Number(fields[1]),
      group: Number(fields[2]),
      command: readFileSync(`/proc/${pid}/cmdline`, "utf8").replaceAll("\0", " ").trim(),
      processorS: (Number(fields[11]) + Number(fields[12])) / TICKS_A_SECOND,
      residentMb: mb("VmRSS"),
      mostResidentMb: mb("VmHWM"),
    };
  } catch {
    return null;
  }
}

/** All that run now; none on a system that does not count so. */
export function allTaken(): ProcessTaken[] {
  if (process.platform !== "linux") return [];
  const pids = readdirSync("/proc").filter((name) => /^\d+$/.test(name));
  return pids.map((pid) => takenBy(Number(pid))).filter((one) => one !== null);
}

export const groupTaken = (group: number): ProcessTaken[] => allTaken().filter((one) => one.group === group);

/** Share of one core, %, that the group's processes took between two looks. npm and its shell, which only wait, are left out. */
export function shareOfCore(before: readonly ProcessTaken[], after: readonly ProcessTaken[], seconds: number): number {
  const took = after
    .filter(({ command }) => command.includes("/src/main/") && !/^(npm|sh) /.test(command))
    .map(({ pid, processorS }) => processorS - (before.find((one) => one.pid === pid)?.processorS ?? 0));
  return (100 * took.reduce((sum, one) => sum + one, 0)) / seconds;
}
