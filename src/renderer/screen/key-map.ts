/**
 * Every key of every screen, in this one place: what it does, and which key it is at first. Single keys can be changed (WCAG 2.1.4). Esc,
 * Enter, arrows and Ctrl with a key cannot, so that abort never moves. A key that is already used is refused in words.
 */
import type { PageName } from "./page-name.ts";

type KeyScope = PageName | "everywhere";

interface KeyEntry {
  /** `KeyboardEvent.key` with small letters; empty where the frame itself listens for a combination. */
  readonly key: string;
  /** For the list of keys; empty where another row includes it. */
  readonly meaning: string;
  readonly fixed: boolean;
  /** How the row names its keys where one name is not enough. */
  readonly shown?: string;
  /** Arms, aborts, labels, edits or prints: a screen that is reached over the local network has no such key. */
  readonly atLaptop?: true;
}

const own = (key: string, meaning: string): KeyEntry => ({ key, meaning, fixed: false });
const atLaptop = (entry: KeyEntry): KeyEntry => ({ ...entry, atLaptop: true });
const fixed = (key: string, meaning: string, shown?: string): KeyEntry => ({
  key,
  meaning,
  fixed: true,
  ...(shown === undefined ? {} : { shown }),
});

const FIRST = {
  "drive.abort": atLaptop(fixed("Escape", "abort; before a launch: disarm")),
  "drive.arm": atLaptop(own(" ", "arm")),
  "drive.label1": atLaptop(own("1", "next run: first label")),
  "drive.label2": atLaptop(own("2", "next run: second label")),
  "drive.label3": atLaptop(own("3", "next run: third label")),
  "drive.label4": atLaptop(own("4", "next run: fourth label")),
  "drive.label5": atLaptop(own("5", "next run: fifth label")),
  "drive.label6": atLaptop(own("6", "next run: sixth label")),
  "drive.label7": atLaptop(own("7", "next run: seventh label")),
  "drive.label8": atLaptop(own("8", "next run: eighth label")),
  "drive.label9": atLaptop(own("9", "next run: ninth label")),
  "drive.label": atLaptop(own("e", "type a label")),
  "drive.countdown": atLaptop(own("c", "countdown for this run, while standing")),
  "drive.again": atLaptop(own("r", "drive the slot of the run just stored again, with a plan")),
  "drive.mark": atLaptop(own("m", "mark this moment, not in a launch")),
  "drive.note": atLaptop(own("n", "note, not in a launch")),
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
  "runs.find": own("f", "find runs by words; none shows all again"),
  "runs.choose": atLaptop(own("v", "choose this run, so that several are edited as one; with Shift all tiles")),
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
  "runs.label": atLaptop(own("e", "label")),
  "runs.note": atLaptop(own("n", "note; says why a flagged run counts")),
  "runs.conditions": atLaptop(own("c", "conditions, and what was changed")),
  "runs.aside": atLaptop(own("x", "set aside, use again")),
  "runs.save": own("s", "save the figure as PNG; with Shift as SVG"),
  "runs.copy": own("y", "copy the data"),
  "compare.back": fixed("ArrowLeft", "pick a run", "\u2190 \u2192"),
  "compare.ahead": fixed("ArrowRight", ""),
  "compare.aside": atLaptop(own("x", "set the run aside")),
  "compare.takeBack": atLaptop(own("b", "use the run again")),
  "compare.gate": own("g", "next gate"),
  "compare.adjust": own("u", "drift taken out, or as driven"),
  "compare.only": own("o", "choose the runs"),
  "compare.pool": own("n", "all with all, or within days and surfaces"),
  "compare.every": own("v", "every pair of more groups"),
  "compare.test": atLaptop(own("j", "draw up the next test of settings")),
  "compare.warnings": own("w", "all warnings, or the first only"),
  "compare.report": own("p", "report"),
  "compare.lost": own("l", "where the time went"),
  "lost.gate": own("g", "next gate"),
  "lost.group": own("n", "next group"),
  "lost.first": atLaptop(own("1", "draw up the test of the first advice")),
  "lost.second": atLaptop(own("2", "draw up the test of the second advice")),
  "lost.third": atLaptop(own("3", "draw up the test of the third advice")),
  "lost.spin": own("s", "when spin would be noticed"),
  "lost.notes": own("w", "all notes, or the first only"),
  "plan.use": atLaptop(fixed("Enter", "use this plan")),
  "plan.draw": atLaptop(own("w", "draw a random order, draw again")),
  "plan.gate": own("g", "next gate"),
  "plan.own": atLaptop(own("a", "own gates")),
  "plan.again": atLaptop(own("r", "drive the last slot again")),
  "plan.outside": own("o", "all runs outside the plan, or the first alone"),
  "plan.report": own("p", "report"),
  "report.html": own("s", "save the page"),
  "report.pdf": atLaptop(own("d", "save as PDF")),
  "report.png": atLaptop(own("i", "save its summary as an image")),
  "report.backUp": atLaptop(own("b", "back up the book: a copy of it beside it, also while recording")),
  "wiring.remedy": atLaptop(fixed("Enter", "what the solid button says")),
  "wiring.up": fixed("ArrowUp", "move over the roles", "\u2191 \u2193"),
  "wiring.down": fixed("ArrowDown", ""),
  "wiring.pick": atLaptop(own("p", "pick a signal")),
  "wiring.invert": atLaptop(own("i", "invert")),
  "wiring.ports": atLaptop(own("f", "find the receiver\u2019s port")),
  "wiring.adapter": atLaptop(own("g", "find the adapter\u2019s port")),
  "wiring.bitrate": atLaptop(own("b", "find the bit rate")),
  "wiring.check": atLaptop(own("k", "check again: listen on both ports anew")),
  "wiring.file": atLaptop(own("a", "add a signal file")),
  "wiring.all": own("m", "show all roles"),
  "car.save": atLaptop(fixed("Enter", "save")),
  "car.calibrate": atLaptop(own("k", "calibrate")),
  "car.accept": atLaptop(own("y", "accept the calibration")),
  "car.wiring": own("w", "go to Wiring"),
  "before.drive": fixed("Enter", "Go to Drive"),
  "everywhere.cancel": fixed("Escape", "aborts a launch, cancels work, closes what is open: always"),
  "everywhere.scheme": own("t", "night, day, sun"),
  "everywhere.dim": own("h", "dim the night, dimmer, and back"),
  "everywhere.freeze": own("z", "freeze what is live, but never a launch"),
  "everywhere.help": fixed("F1", "keys of this screen, and settings; once more: the handbook"),
  "everywhere.pages": fixed("", "pages; Alt instead of Ctrl where the browser takes it", "Ctrl+1 to Ctrl+9"),
  "everywhere.undo": fixed("", "undo, redo", "Ctrl+Z, Ctrl+Shift+Z"),
} as const satisfies Readonly<Record<`${KeyScope}.${string}`, KeyEntry>>;

export type ActionName = keyof typeof FIRST;
const NAMES = Object.keys(FIRST) as ActionName[];
/** Whether it needs the laptop, and is no action of a screen that only shows. */
export const needsLaptop = (action: ActionName): boolean => (FIRST[action] as KeyEntry).atLaptop === true;
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
/** One character, or a function key that no browser uses itself. */
const MAY_BE_SET = /^(.|F[2-4]|F[6-9]|F10)$/u;

export interface KeyRow {
  readonly action: ActionName;
  readonly meaning: string;
  readonly shown: string;
  readonly fixed: boolean;
}

export interface KeyMap {
  /** The action of a key on a page; null when it has none, or when single keys are off. */
  action(page: PageName, key: string): ActionName | null;
  /** The same for keys that work on every page. */
  everywhere(key: string): ActionName | null;
  /** As shown on screens: "Space", "R"; empty while single keys are off. */
  shown(action: ActionName): string;
  /** The page's keys, then those that work everywhere. */
  rows(page: PageName): readonly KeyRow[];
  /** Gives an action another key. Returns null, or words that say why its key stays. */
  set(action: ActionName, key: string): string | null;
  reset(): void;
  /** Turns single keys on or off. */
  turn(on: boolean): void;
  /** The differences from the first keys, to be stored. */
  changed(): Record<string, string>;
}

/** `kept`: a result of `changed()`; what no longer fits is left out. */
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

  // Stored keys may have been exchanged: all are removed first, so that their order does not matter.
  const wanted = Object.entries(kept).filter(
    (entry): entry is [ActionName, string] => Object.hasOwn(FIRST, entry[0]) && typeof entry[1] === "string",
  );
  for (const [action] of wanted) if (!FIRST[action].fixed) now.set(action, "");
  for (const [action, key] of wanted) map.set(action, key);
  // An action whose key could not be restored gets its first key again, if that is still free.
  for (const [action] of wanted) if (now.get(action) === "" && map.set(action, FIRST[action].key) !== null) map.reset();
  return map;
}
