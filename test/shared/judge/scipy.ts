/** Debian's SciPy, called once with a batch. Null, with a message, where it is not installed. */
import { spawnSync } from "node:child_process";

/** Runs a Python program that reads JSON from stdin as `data` and prints JSON. */
export function runScipy<T>(program: string, data: unknown): T | null {
  const script = `import sys, json\nimport numpy as np\nfrom scipy import stats\ndata = json.load(sys.stdin)\n${program}`;
  const result = spawnSync("/usr/bin/python3", ["-c", script], { input: JSON.stringify(data), encoding: "utf8", maxBuffer: 1 << 26 });
  if (result.error || /No module named/.test(result.stderr)) {
    console.log(
      `skipped: comparison with SciPy, because ${result.error?.message ?? result.stderr.trim().split("\n").at(-1)} (Debian: python3-scipy)`,
    );
    return null;
  }
  if (result.status !== 0) throw new Error(`SciPy failed: ${result.stderr}`);
  return JSON.parse(result.stdout) as T;
}
