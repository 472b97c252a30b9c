/** The interface between the frame and every page, in both directions. */
import type { Bridge, CoreEvent, Edited, RequestArgument, RunRow } from "../../shared/contract/contract.ts";
import type { Plan } from "../../shared/judge/plan.ts";
import type { Question } from "./dialogs.ts";
import type { LiveFeed } from "../live/live-feed.ts";
import type { ActionName, KeyMap } from "./key-map.ts";
import type { PageName } from "./page-name.ts";
import type { Cues } from "../sound/cues.ts";

export interface ProposedTest {
  /** Two or more. */
  readonly groups: readonly string[];
  readonly runsPerGroup: number;
  readonly gate: string;
  /** Absent: as the form says. */
  readonly wet?: boolean;
  /** Seconds that the change should gain; null where nothing is expected of it. */
  readonly hopedS: number | null;
}

export interface Frame {
  readonly bridge: Bridge;
  readonly feed: LiveFeed;
  readonly cues: Cues;
  readonly keys: KeyMap;
  /** What Compare was last asked for; the report shows the same. */
  readonly compared: { asked: RequestArgument<"compare.read"> };
  /** A test that advice proposes; Plan takes it and draws its order. `drawn`: the order that is not in use yet; other units do not lose it. */
  readonly proposed: { test: ProposedTest | null; drawn: Plan | null };
  /** All runs of the book, oldest first. */
  runs(): readonly RunRow[];
  /** Groups of the book: a group's place is its mark on every page. */
  groups(): readonly string[];
  car(): string;
  simulated(): boolean;
  bookFile(): string;
  go(page: PageName): void;
  /** Reads the book again and tells every page; shows a failure in the frame's place for errors, and leaves what was read before. */
  reload(): Promise<void>;
  /** Reads an event to people who listen instead of looking. */
  announce(words: string): void;
  /** Shows a failed request in the frame's place for errors, beside those of other kinds; null removes the one of that kind: it went well since. */
  fail(error: unknown, of?: "request" | "find"): void;
  /**
   * Makes an edit, reloads the runs, and offers to undo it. `fit`: corrects the parts of the undo request that must hold when it is used.
   */
  edit(done: string, request: Promise<Edited>, fit?: (argument: unknown) => unknown): Promise<void>;
  /** Asks for one line of text; null when closed without an answer. */
  ask(question: Question): Promise<string | null>;
}

export interface Page {
  readonly name: PageName;
  readonly title: string;
  readonly element: HTMLElement;
  /** Where the undo button is shown while the page hides the head. */
  readonly undoSlot?: HTMLElement;
  /** What mouse and fingers do on the page besides pressing things; shown by F1. */
  readonly gestures?: string;
  shown(): void;
  hidden(): void;
  onEvent(event: CoreEvent): void;
  /** Cancels what the page is doing; false when there is nothing to cancel. */
  cancel?(): boolean;
  /** The runs changed, or the scheme, or the size. */
  changed(): void;
  /** What the page's keys do; key-map.ts says which keys these are. */
  readonly acts: Readonly<Partial<Record<ActionName, (event: KeyboardEvent) => unknown>>>;
  /** False leaves a key to the focused element. */
  takes?(action: ActionName, event: KeyboardEvent): boolean;
}
