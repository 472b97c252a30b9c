/** Makes the folder that a command writes into. Where that fails it throws RangeError with the folder's name and the remedy. */
import { mkdirSync, statSync } from "node:fs";
import { dirname, resolve } from "node:path";

/**
 * One level at a time: `mkdirSync` with `recursive` (Node 24) never returns where a file system reports a missing parent for every new
 * folder, as /proc does.
 */
export function makeFolder(path: string): void {
  const folder = resolve(path);
  const there = statSync(folder, { throwIfNoEntry: false });
  if (there?.isDirectory() === true) return;
  if (there !== undefined) throw new RangeError(`Folder ${folder}: a file of that name is there already; name another`);
  const above = dirname(folder);
  // A drive that is not there has nothing above it (Windows).
  if (above !== folder) makeFolder(above);
  try {
    mkdirSync(folder);
  } catch (cause) {
    // Another process was quicker.
    if (statSync(folder, { throwIfNoEntry: false })?.isDirectory() === true) return;
    throw new RangeError(
      `Folder ${folder}: cannot be made (${(cause as { code?: string }).code ?? String(cause)}); name one that may be written`,
      { cause },
    );
  }
}
