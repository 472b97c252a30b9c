/** What every page gets from the frame, and what the frame asks of every page. */
import type { Bridge, CoreEvent, Edited, RunRow } from "../../shared/contract/contract.ts";
import type { LiveFeed } from "../live/live-feed.ts";
import type { Cues } from "../sound/cues.ts";

export type PageName = "car" | "wiring" | "before" | "drive" | "runs" | "compare" | "plan" | "report";

export interface Frame {
  readonly bridge: Bridge;
  readonly feed: LiveFeed;
  readonly cues: Cues;
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
  /** Runs an edit, reloads the runs, and offers to undo it. */
  edit(done: string, request: Promise<Edited>): Promise<void>;
  /** Asks for one line of text; null when closed without an answer. */
  ask(question: {
    readonly title: string;
    readonly field: string;
    readonly value: string;
    readonly button: string;
  }): Promise<string | null>;
}

export interface Page {
  readonly name: PageName;
  readonly title: string;
  readonly element: HTMLElement;
  /** Key and meaning, for the F1 list. */
  readonly keys: readonly (readonly [string, string])[];
  shown(): void;
  hidden(): void;
  onEvent(event: CoreEvent): void;
  /** The runs changed, or the scheme or size did. */
  changed(): void;
  /** True when the key was used. */
  onKey(event: KeyboardEvent): boolean;
}
