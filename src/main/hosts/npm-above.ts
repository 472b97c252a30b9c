/**
 * Finds npm among the three processes above this one: npm runs a script in a shell, some shells step aside for it, and a package on an older Node
 * stands between. Null where npm is not there, or where the system does not tell (Windows ends a script with npm). Never fails.
 */
import { execFileSync } from "node:child_process";
import { readFileSync } from "node:fs";

interface Above {
  readonly parent: number;
  readonly line: string;
}

const STEPS = 3;

/** proc(5); a bare Debian has no ps(1). */
function lookUpProc(pid: number): Above {
  const parent = /^PPid:\s*(\d+)/m.exec(readFileSync(`/proc/${pid}/status`, "utf8"))?.[1];
  return { parent: Number(parent), line: readFileSync(`/proc/${pid}/cmdline`, "utf8").replaceAll("\0", " ") };
}

/** ps(1), as on macOS. */
function lookUpPs(pid: number): Above | null {
  const said = execFileSync("ps", ["-o", "ppid=,args=", "-p", String(pid)], { encoding: "utf8", stdio: ["ignore", "pipe", "ignore"] });
  const [, parent, line] = /^\s*(\d+)\s+(.*)$/m.exec(said) ?? [];
  return parent === undefined || line === undefined ? null : { parent: Number(parent), line };
}

function lookUp(pid: number): Above | null {
  try {
    return process.platform === "linux" ? lookUpProc(pid) : lookUpPs(pid);
  } catch {
    return null;
  }
}

/** npm calls itself "npm start" for all to see. */
const isNpm = ({ line }: Above) => /^npm\b|[\\/]npm-cli\.js\b/.test(line);

/** The process id of the npm that runs this script. */
export function npmAbove(): number | null {
  if (process.platform === "win32") return null;
  let pid = process.ppid;
  for (let steps = 0; steps < STEPS; steps += 1) {
    const above = lookUp(pid);
    if (above === null) return null;
    if (isNpm(above)) return pid;
    pid = above.parent;
  }
  return null;
}
