/**
 * Checks and makes file names. Every name that came from a person, a page or a book passes through here before it is used in a path. Pure;
 * never fails.
 */

/** Most file systems hold 255 bytes a name, and a letter can take three bytes. The rest is kept for endings such as "-2". */
const MOST_CHARACTERS = 80;
/**
 * Characters with a special meaning on some system: separators, wildcards, streams (learn.microsoft.com, "Naming Files, Paths, and
 * Namespaces").
 */
const MEANS_MORE = /[<>:"/\\|?*]/;
/** Invisible characters: control, format and unassigned ones, half surrogate pairs, line ends, and blanks other than the plain space. */
const UNSEEN = /[\p{C}\p{Zl}\p{Zp}]|(?! )\p{Zs}/u;
/** Windows reserves these names for devices, with any ending. */
const DEVICES = /^(con|prn|aux|nul|com[0-9]|lpt[0-9])(\.|$)/i;

/** What an error message asks for instead. */
export const PLAIN_FILE_NAME = "a plain file name: no folder, no first dot, dash or blank, no line break";

/** Whether this is one plain file name on every system. It must be visible in a listing and must not look like an option of a command. */
export function isPlainFileName(name: string): boolean {
  if (name.length === 0 || name.length > MOST_CHARACTERS) return false;
  if (/^[.\- ~]|[. ]$/.test(name)) return false;
  return !(MEANS_MORE.test(name) || UNSEEN.test(name) || DEVICES.test(name));
}

/** Whether Gripbook made this name: only letters, digits, _ and -, so it is safe in any path. */
export const isGivenName = (name: string): boolean => /^[A-Za-z0-9][A-Za-z0-9_-]{0,79}$/.test(name);

/** The remedy for a run whose name cannot be a file name. */
export const NAME_REMEDY = "something else than Gripbook changed that book; export its logs and import them into a new one";

/** Turns "Odrel, 4 May" into "odrel-4-may" for use in a path; gives `otherwise` where no letter is left. */
export function nameForPath(text: string, otherwise: string): string {
  const word = text
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, "-")
    .slice(0, MOST_CHARACTERS)
    .replace(/^-|-$/g, "");
  return word === "" ? otherwise : word;
}
