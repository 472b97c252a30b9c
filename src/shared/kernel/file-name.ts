/** Names that may become a file's. Whatever came from a person, a page or a book passes through here before it stands in a path. Pure; never fails. */

/** Most file systems hold 255 bytes a name, and a letter takes up to three; the rest is for "-2" and the like. */
const MOST_CHARACTERS = 80;
/** Signs that some system takes for more than a letter: separators, wildcards, streams (learn.microsoft.com, "Naming Files, Paths, and Namespaces"). */
const MEANS_MORE = /[<>:"/\\|?*]/;
/** What does not show: control, format and unassigned characters, halves of pairs, line ends, blanks other than the plain one. */
const UNSEEN = /[\p{C}\p{Zl}\p{Zp}]|(?! )\p{Zs}/u;
/** Windows keeps these for devices, with any ending. */
const DEVICES = /^(con|prn|aux|nul|com[0-9]|lpt[0-9])(\.|$)/i;

/** What a refusal asks for. */
export const PLAIN_FILE_NAME = "a plain file name: no folder, no first dot, dash or blank, no line break";

/** Whether it is one plain file's name on every system: seen when listed, and taken by no program for an option. */
export function isPlainFileName(name: string): boolean {
  if (name.length === 0 || name.length > MOST_CHARACTERS) return false;
  if (/^[.\- ~]|[. ]$/.test(name)) return false;
  return !(MEANS_MORE.test(name) || UNSEEN.test(name) || DEVICES.test(name));
}

/** Whether it is a name that Gripbook gave: letters, digits, _ and - alone, so that it can stand in any path. */
export const isGivenName = (name: string): boolean => /^[A-Za-z0-9][A-Za-z0-9_-]{0,79}$/.test(name);

/** What to do about a run whose name is none. */
export const NAME_REMEDY = "something else than Gripbook changed that book; export its logs and import them into a new one";

/** "Odrel, 4 May" as "odrel-4-may", for a part of a path; `otherwise` where no letter is left. */
export function nameForPath(text: string, otherwise: string): string {
  const word = text
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, "-")
    .slice(0, MOST_CHARACTERS)
    .replace(/^-|-$/g, "");
  return word === "" ? otherwise : word;
}
