/**
 * What every page gets from the app: the core, live values, the book's runs, edits, announcements and errors. What a person cancelled is
 * not an error.
 */
import { CANCELLED } from "../../shared/contract/contract-error.ts";
import type { Bridge } from "../../shared/contract/contract.ts";
import { createLiveFeed } from "../live/live-feed.ts";
import { askText } from "../screen/dialogs.ts";
import type { KeyMap } from "../screen/key-map.ts";
import type { Frame } from "../screen/page.ts";
import { createCues } from "../sound/cues.ts";
import { type BookRuns, createBookRuns } from "./book-runs.ts";
import { createEdits, type Edits } from "./edits.ts";
import type { Notices } from "./notices.ts";
import { wordsOf } from "../../shared/kernel/words-of.ts";

export interface FrameOptions {
  readonly bridge: Bridge;
  readonly keys: KeyMap;
  readonly notices: Notices;
  announce(words: string): void;
  /** Reads the book again and tells every page. */
  reload(): Promise<void>;
  /** Whether the undo button is on the page itself. */
  onPage(): boolean;
}

/** The frame, with the parts that only the app uses. */
export function createFrame(options: FrameOptions): { readonly frame: Frame; readonly book: BookRuns; readonly edits: Edits } {
  const { bridge, keys, notices, announce, reload, onPage } = options;
  const fail = (error: unknown, of = "request") => {
    if (error === null) {
      notices.set(of, null);
      return;
    }
    const words = wordsOf(error);
    if (words === CANCELLED) announce(words);
    else notices.set(of, words);
  };
  const book = createBookRuns(bridge);
  const edits = createEdits({ bridge, notices, announce, fail, reload, onPage });
  const frame: Frame = {
    bridge,
    feed: createLiveFeed(),
    cues: createCues(),
    keys,
    compared: { asked: {} },
    proposed: { test: null, drawn: null },
    runs: book.runs,
    groups: book.groups,
    car: book.car,
    simulated: book.simulated,
    bookFile: book.bookFile,
    go: (name) => {
      window.location.hash = name;
    },
    reload: () => reload().catch(fail),
    announce,
    fail,
    edit: edits.edit,
    ask: (question) => askText(question),
  };
  return { frame, book, edits };
}
