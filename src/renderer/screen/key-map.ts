/**
 * Every key of every screen, in this one place: what it does and which key that is at first. Single keys can be given others (WCAG 2.1.4); Esc, Enter,
 * arrows and Ctrl with a key cannot, so that an abort is always where it was. A key that is taken already is refused in words.
 */
import type { PageName } from "./page-name.ts";

type KeyScope = PageName | "everywhere";

interface KeyEntry {
  /** `KeyboardEvent.key`, letters small; empty where the frame itself listens for a combination. */
  readonly key: string;
  /** For the list; empty where another row speaks for it. */
  readonly meaning: string;
  readonly fixed: boolean;
  /** How the row names its keys where one name does not do. */
  readonly shown?: string;
}

const own = (key: string, meaning: string): KeyEntry => ({ key, meaning, fixed: false });
const fixed = (key: string, meaning: string, shown?: string): KeyEntry => ({
  key,
  meaning,
  fixed: true,
  ...(shown === undefined ? {} : { shown }),
});

const FIRST = {
  "drive.abort": fixed("Escape", "abort; before a launch: disarm"),
  "drive.arm": own(" ", "arm"),
  "drive.label1": own("1", "next run: first label"),
  "drive.label2": own("2", "next run: second label"),
  "drive.label3": own("3", "next run: third label"),
  "drive.label4": own("4", "next run: fourth label"),
  "drive.label5": own("5", "next run: fifth label"),
  "drive.label6": own("6", "next run: sixth label"),
  "drive.label7": own("7", "next run: seventh label"),
  "drive.label8": own("8", "next run: eighth label"),
  "drive.label9": own("9", "next run: ninth label"),
  "drive.label": own("e", "type a label"),
  "drive.countdown": own("c", "countdown for this run, while standing"),
  "drive.again": own("r", "drive the slot of the run just stored again, with a plan"),
  "drive.mark": own("m", "mark this moment"),
  "drive.note": own("n", "note"),
  "drive.full": own("f", "full screen"),
  "drive.leave": own("l", "leave"),
  "runs.play": own(" ", "play, pause"),
  "runs.pace1": own("1", "pace 0.25"),
  "runs.pace2": own("2", "pace 0.5"),
  "runs.pace3": own("3", "pace 1"),
  "runs.pace4": own("4", "pace 2"),
  "runs.pace5": own("5", "pace 4"),
  "runs.back": fixed("ArrowLeft", "one sample; with Shift 0.1 s", "\u2190 \u2192"),
  "runs.ahead": fixed("ArrowRight", ""),
  "runs.start": fixed("Home", "start, end", "Home, End"),
  "runs.end": fixed("End", ""),
  "runs.gate": own("g", "next gate"),
  "runs.before": own("[", "run before"),
  "runs.after": own("]", "run after"),
  "runs.dayBefore": fixed("PageUp", "day before, day after", "PgUp, PgDn"),
  "runs.dayAfter": fixed("PageDown", ""),
  "runs.zoomIn": own("+", "zoom in"),
  "runs.zoomOut": own("-", "zoom out"),
  "runs.zoomWhole": own("0", "whole run, and back"),
  "runs.open": own("o", "slip and held back alone, or everything"),
  "runs.axis": own("d", "time or distance"),
  "runs.line": own("a", "add a line; with Shift the one before"),
  "runs.lost": own("k", "where this run's time went"),
  "runs.overlay": own("l", "overlay: keep this run, then pick another"),
  "runs.align": own("j", "align the overlay at the start or a gate"),
  "runs.label": own("e", "label"),
  "runs.note": own("n", "note; says why a flagged run counts"),
  "runs.conditions": own("c", "conditions, and what was changed"),
  "runs.aside": own("x", "set aside, take back"),
  "runs.save": own("s", "save the figure as PNG; with Shift as SVG"),
  "runs.copy": own("y", "copy the data"),
  "compare.back": fixed("ArrowLeft", "pick a run", "\u2190 \u2192"),
  "compare.ahead": fixed("ArrowRight", ""),
  "compare.aside": own("x", "set the run aside"),
  "compare.takeBack": own("b", "take the run back"),
  "compare.gate": own("g", "next gate"),
  "compare.adjust": own("u", "drift taken out, or as driven"),
  "compare.every": own("v", "every pair of more groups"),
  "compare.warnings": own("w", "all warnings, or the first only"),
  "compare.report": own("p", "report"),
  "compare.lost": own("l", "where the time went"),
  "lost.gate": own("g", "next gate"),
  "lost.group": own("n", "next group"),
  "lost.first": own("1", "draw up the test of the first advice"),
  "lost.second": own("2", "draw up the test of the second advice"),
  "lost.third": own("3", "draw up the test of the third advice"),
  "lost.notes": own("w", "all notes, or the first only"),
  "plan.use": fixed("Enter", "use this plan"),
  "plan.draw": own("w", "draw the order by lot, draw again"),
  "plan.gate": own("g", "next gate"),
  "plan.own": own("a", "gates of your own"),
  "plan.again": own("r", "drive the last slot again"),
  "plan.outside": own("o", "all runs outside the plan, or the first alone"),
  "plan.report": own("p", "report"),
  "report.html": own("s", "save the page"),
  "report.pdf": own("d", "save as PDF"),
  "report.png": own("i", "save its summary as an image"),
  "wiring.remedy": fixed("Enter", "what the solid button says"),
  "wiring.up": fixed("ArrowUp", "move over the roles", "\u2191 \u2193"),
  "wiring.down": fixed("ArrowDown", ""),
  "wiring.pick": own("p", "pick a signal"),
  "wiring.invert": own("i", "invert"),
  "wiring.ports": own("f", "find the receiver\u2019s port"),
  "wiring.adapter": own("g", "find the adapter\u2019s port"),
  "wiring.bitrate": own("b", "find the bit rate"),
  "wiring.check": own("k", "check again: listen on both ports anew"),
  "wiring.file": own("a", "add a signal file"),
  "wiring.all": own("m", "show all roles"),
  "car.save": fixed("Enter", "save"),
  "car.calibrate": own("k", "calibrate"),
  "car.accept": own("y", "accept the calibration"),
  "car.wiring": own("w", "go to Wiring"),
  "before.drive": fixed("Enter", "Go to Drive"),
  "everywhere.cancel": fixed("Escape", "aborts a launch, cancels work, closes what is open: always"),
  "everywhere.scheme": own("t", "night, day, sun"),
  "everywhere.freeze": own("z", "freeze what is live, but never a launch"),
  "everywhere.help": fixed("F1", "keys of this screen, and settings"),
  "everywhere.pages": fixed("", "pages; Alt instead of Ctrl where the browser takes it", "Ctrl+1 to Ctrl+9"),
  "everywhere.undo": fixed("", "undo, redo", "Ctrl+Z, Ctrl+Shift+Z"),
} as const satisfies Readonly<Record<`${KeyScope}.${string}`, KeyEntry>>;

export type ActionName = keyof typeof FIRST;
const NAMES = Object.keys(FIRST) as ActionName[];
const scopeOf = (action: ActionName) => action.split(".")[0] as KeyScope;
const PAGE_WORD: Readonly<Record<KeyScope, string>> = {
  car: "on Car",
  wiring: "on Wiring",
  before: "on Before driving",
  drive: "on Drive",
  runs: "on Runs",
  compare: "on Compare",
  lost: "on Time lost",
  plan: "on Plan",
  report: "on Report",
  everywhere: "everywhere",
};

const KEY_WORDS: Readonly<Record<string, string>> = { " ": "Space", "-": "\u2212", Escape: "Esc" };
const keyWord = (key: string) => KEY_WORDS[key] ?? (key.length === 1 ? key.toUpperCase() : key);
const plain = (key: string) => (key.length === 1 ? key.toLowerCase() : key);
/** One character, or a function key that no browser keeps for itself. */
const MAY_BE_SET = /^(.|F[2-4]|F[6-9]|F10)$/u;

export interface KeyRow {
  readonly action: ActionName;
  readonly meaning: string;
  readonly shown: string;
  readonly fixed: boolean;
}

export interface KeyMap {
  /** What a key does on a page; null when nothing, or when single keys are off. */
  action(page: PageName, key: string): ActionName | null;
  /** The same of what acts on every page. */
  everywhere(key: string): ActionName | null;
  /** As screens print it: "Space", "R"; empty while single keys are off. */
  shown(action: ActionName): string;
  /** The page's keys, then those that act everywhere. */
  rows(page: PageName): readonly KeyRow[];
  /** Gives an action another key. Answers null, or in words why it keeps its own. */
  set(action: ActionName, key: string): string | null;
  reset(): void;
  /** Single keys on or off. */
  turn(on: boolean): void;
  /** What differs from the first keys, to be kept. */
  changed(): Record<string, string>;
}

/** `kept`: what `changed()` gave once; what no longer fits is left out. */
export function createKeyMap(kept: Readonly<Record<string, unknown>>, isOn: boolean): KeyMap {
  const now = new Map<ActionName, string>(NAMES.map((action) => [action, FIRST[action].key]));
  let on = isOn;
  const isOff = (key: string) => !on && key.length === 1;
  const meets = (a: KeyScope, b: KeyScope) => a === b || a === "everywhere" || b === "everywhere";

  function actionOf(scope: KeyScope, key: string): ActionName | null {
    const wanted = plain(key);
    if (isOff(wanted)) return null;
    return NAMES.find((action) => now.get(action) === wanted && scopeOf(action) === scope) ?? null;
  }

  const map: KeyMap = {
    action: actionOf,
    everywhere: (key) => actionOf("everywhere", key),
    shown(action) {
      const entry: KeyEntry = FIRST[action];
      const key = now.get(action) ?? "";
      return isOff(key) ? "" : (entry.shown ?? keyWord(key));
    },
    rows(page) {
      return NAMES.filter((action) => (scopeOf(action) === page || scopeOf(action) === "everywhere") && FIRST[action].meaning !== "").map(
        (action) => {
          const entry: KeyEntry = FIRST[action];
          return { action, meaning: entry.meaning, fixed: entry.fixed, shown: entry.shown ?? keyWord(now.get(action) ?? "") };
        },
      );
    },
    set(action, key) {
      const wanted = plain(key);
      if (FIRST[action].fixed) return "This key stays as it is";
      if (!MAY_BE_SET.test(wanted))
        return `${keyWord(wanted)} stays what it is on every screen; choose a letter, a digit, a sign, Space, or F2 to F10`;
      const other = NAMES.find(
        (known) => known !== action && now.get(known) === wanted && meets(scopeOf(known), scopeOf(action)) && FIRST[known].key !== "",
      );
      if (other !== undefined)
        return `${keyWord(wanted)} is taken ${PAGE_WORD[scopeOf(other)]}: ${FIRST[other].meaning}. Give that another key first, or choose another here`;
      now.set(action, wanted);
      return null;
    },
    reset() {
      for (const action of NAMES) now.set(action, FIRST[action].key);
    },
    turn(next) {
      on = next;
    },
    changed: () =>
      Object.fromEntries(NAMES.filter((action) => now.get(action) !== FIRST[action].key).map((action) => [action, now.get(action) ?? ""])),
  };

  // Kept keys may have changed places: all are lifted off first, so that their order does not matter.
  const wanted = Object.entries(kept).filter(
    (entry): entry is [ActionName, string] => Object.hasOwn(FIRST, entry[0]) && typeof entry[1] === "string",
  );
  for (const [action] of wanted) if (!FIRST[action].fixed) now.set(action, "");
  for (const [action, key] of wanted) map.set(action, key);
  // What could not be given back takes its first key again, if that is still free.
  for (const [action] of wanted) if (now.get(action) === "" && map.set(action, FIRST[action].key) !== null) map.reset();
  return map;
}
