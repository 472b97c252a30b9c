/**
 * Finds npm among the two processes above this one: npm runs a script in a shell, and some shells step aside for it. Null where npm is not there, or
 * where the system does not tell (Windows ends a script with npm). Never fails.
 */
import { execFileSync } from "node:child_process";

interface Above {
  readonly parent: number;
  readonly line: string;
}

/** ps(1), which Linux and macOS both have. */
function lookUp(pid: number): Above | null {
  try {
    const said = execFileSync("ps", ["-o", "ppid=,args=", "-p", String(pid)], { encoding: "utf8", stdio: ["ignore", "pipe", "ignore"] });
    const [, parent, line] = /^\s*(\d+)\s+(.*)$/m.exec(said) ?? [];
    return parent === undefined || line === undefined ? null : { parent: Number(parent), line };
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
  for (let steps = 0; steps < 2; steps += 1) {
    const above = lookUp(pid);
    if (above === null) return null;
    if (isNpm(above)) return pid;
    pid = above.parent;
  }
  return null;
}
