/** When anything under a folder last changed, ms since 1970; 0 when it does not exist. What cannot be read throws. */
import { existsSync, readdirSync, statSync } from "node:fs";
import { join } from "node:path";

export function newestChange(folder: string): number {
  if (!existsSync(folder)) return 0;
  return readdirSync(folder, { withFileTypes: true, recursive: true })
    .filter((entry) => entry.isFile())
    .reduce((latest, entry) => Math.max(latest, statSync(join(entry.parentPath, entry.name)).mtimeMs), 0);
}
