/** What every page gets from the frame, and what the frame asks of every page. */
import type { Bridge, CoreEvent, Edited, RequestArgument, RunRow } from "../../shared/contract/contract.ts";
import type { Question } from "./dialogs.ts";
import type { LiveFeed } from "../live/live-feed.ts";
import type { ActionName, KeyMap } from "./key-map.ts";
import type { PageName } from "./page-name.ts";
import type { Cues } from "../sound/cues.ts";

export interface ProposedTest {
  readonly groups: readonly [string, string];
  readonly runsPerGroup: number;
  readonly gate: string;
  /** Seconds that the change should bring. */
  readonly hopedS: number;
}

export interface Frame {
  readonly bridge: Bridge;
  readonly feed: LiveFeed;
  readonly cues: Cues;
  readonly keys: KeyMap;
  /** What Compare was asked last; the report shows the same. */
  readonly compared: { asked: RequestArgument<"compare.read"> };
  /** A test that an advice wants; Plan takes it up and draws its order. */
  readonly proposed: { test: ProposedTest | null };
  /** All runs of the book, oldest first. */
  runs(): readonly RunRow[];
  car(): string;
  simulated(): boolean;
  bookFile(): string;
  go(page: PageName): void;
  /** Says an event to people who listen instead of looking. */
  announce(words: string): void;
  /** Shows a failed request in the frame's one place for errors. */
  fail(error: unknown): void;
  /** Runs an edit, reloads the runs, and offers to undo it. `fit`: what of its undoing holds only when it is undone. */
  edit(done: string, request: Promise<Edited>, fit?: (argument: unknown) => unknown): Promise<void>;
  /** Asks for one line of text; null when closed without an answer. */
  ask(question: Question): Promise<string | null>;
}

export interface Page {
  readonly name: PageName;
  readonly title: string;
  readonly element: HTMLElement;
  /** Where what can be undone stands while the page hides the head. */
  readonly undoSlot?: HTMLElement;
  /** What mouse and fingers do there beyond pressing what stands there; F1 tells it. */
  readonly gestures?: string;
  shown(): void;
  hidden(): void;
  onEvent(event: CoreEvent): void;
  /** Cancels what the page is at; false when there is nothing to cancel. */
  cancel?(): boolean;
  /** The runs changed, or the scheme or size did. */
  changed(): void;
  /** What the page's keys do; key-map.ts says which keys these are. */
  readonly acts: Readonly<Partial<Record<ActionName, (event: KeyboardEvent) => unknown>>>;
  /** False leaves a key to whatever has the focus. */
  takes?(action: ActionName, event: KeyboardEvent): boolean;
}
