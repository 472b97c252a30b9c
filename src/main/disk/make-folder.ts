/** Makes the folder that a command writes into. One that cannot be made throws RangeError with its name and the remedy. */
import { mkdirSync, statSync } from "node:fs";
import { dirname, resolve } from "node:path";

/** Step by step: `mkdirSync` with `recursive` (Node 24) never returns where a file system says of a new folder that its parent is missing, as /proc does. */
export function makeFolder(path: string): void {
  const folder = resolve(path);
  const there = statSync(folder, { throwIfNoEntry: false });
  if (there?.isDirectory() === true) return;
  if (there !== undefined) throw new RangeError(`Folder ${folder}: a file of that name is there already; name another`);
  makeFolder(dirname(folder));
  try {
    mkdirSync(folder);
  } catch (cause) {
    throw new RangeError(
      `Folder ${folder}: cannot be made (${(cause as { code?: string }).code ?? String(cause)}); name one that may be written`,
      { cause },
    );
  }
}
