/**
 * The licences of everything that a package contains or is installed with, with their texts, as one file to lie in it. Taken from the lock file
 * and node_modules; a package without a text of its own is named with its licence. Throws where a package is not installed.
 */
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";

interface Locked {
  readonly version: string;
  readonly license?: string;
  readonly dependencies?: Readonly<Record<string, string>>;
}

type Lock = Readonly<Record<string, Locked>>;

const MODULES = "node_modules/";
const TEXT = /^(licen[cs]e|copying|ofl)([-.].*)?$/i;
const RULE = "=".repeat(80);

/** As Node finds it: beside the package that asks, or in a folder above. */
function placeOf(lock: Lock, from: string, name: string): string {
  const beside = `${from}${from === "" ? "" : "/"}${MODULES}${name}`;
  if (lock[beside] !== undefined) return beside;
  if (from === "") throw new Error(`package-lock.json: ${name} is not in it; run npm install`);
  return placeOf(lock, from.slice(0, Math.max(0, from.lastIndexOf(MODULES) - 1)), name);
}

const readLock = (root: string): Lock => (JSON.parse(readFileSync(join(root, "package-lock.json"), "utf8")) as { packages: Lock }).packages;

const namesAt = (lock: Lock, place: string) => Object.keys(lock[place]?.dependencies ?? {});

/**
 * Folders of the packages named, and of all that they stand on; of everything that the program itself stands on where none is named. Not by npm's own
 * marks: they count tools that a package could use if they were there.
 */
export function shippedFolders(root: string, names?: readonly string[]): string[] {
  const lock = readLock(root);
  const found = new Set<string>();
  const visit = (from: string, asked: readonly string[]) => {
    for (const name of asked) {
      const place = placeOf(lock, from, name);
      if (found.has(place)) continue;
      found.add(place);
      visit(place, namesAt(lock, place));
    }
  };
  visit("", names ?? namesAt(lock, ""));
  return [...found].sort();
}

function textOf(folder: string): string {
  const names = readdirSync(folder).filter((name) => TEXT.test(name));
  return names.map((name) => readFileSync(join(folder, name), "utf8").trim()).join("\n\n");
}

/** `root`: the checkout, with its packages installed. */
export function licencesText(root: string): string {
  const lock = readLock(root);
  const parts = shippedFolders(root).map((place) => {
    const { version, license = "no licence named" } = lock[place] as Locked;
    const name = place.slice(place.lastIndexOf(MODULES) + MODULES.length);
    const text = textOf(join(root, place)) || `(No text of its own lies in the package; ${license} is at spdx.org/licenses.)`;
    return `${RULE}\n${name} ${version}: ${license}\n\n${text}\n`;
  });
  const own = readFileSync(join(root, "LICENSE"), "utf8").trim();
  return [`Gripbook\n\n${own}\n\nGripbook contains, or is installed with, the packages below.\n`, ...parts].join("\n");
}
