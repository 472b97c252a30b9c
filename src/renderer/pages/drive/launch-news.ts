/** The launch just driven: whether it is still in view, whether its run is in the book yet, and that run while it is news. */
import type { LiveEvent, RunRow } from "../../../shared/contract/contract.ts";

/** How long a stored run is news in the hero while already armed again. */
const NEWS_MS = 20_000;

export interface LaunchNews {
  /** The event that came, after the one before. */
  follow(before: LiveEvent | null, now: LiveEvent): void;
  /** A run went into the book; it is news only where a launch was seen of which there was none yet. */
  stored(run: RunRow): void;
  run(live: LiveEvent | null): RunRow | null;
  /** A launch that leaves no run is waited for no longer than it stays in view. */
  storing(live: LiveEvent | null): boolean;
  /** Whether what is drawn is the launch, running or just over. */
  inView(live: LiveEvent | null): boolean;
}

export function createLaunchNews(): LaunchNews {
  let news: { readonly run: RunRow; readonly atMs: number } | null = null;
  /** A launch was seen of which no run is stored yet. Until it is, the run before must not be shown as this one's. */
  let pending = false;
  let endMs = Number.NEGATIVE_INFINITY;
  const justOver = () => performance.now() - endMs < NEWS_MS;
  /** The core arms again by itself within a frame, so the launch stays in view while it is news. */
  const run = (live: LiveEvent | null) =>
    news !== null && performance.now() - news.atMs < NEWS_MS && (!pending || live?.state === "aborted") ? news.run : null;
  return {
    follow(before, now) {
      if (now.state === "launched") pending = true;
      if (before?.state === "launched" && now.state !== "launched") endMs = performance.now();
    },
    stored(stored) {
      if (!pending) return;
      pending = false;
      news = { run: stored, atMs: performance.now() };
    },
    run,
    storing: (live) => pending && live?.state !== "launched" && live?.state !== "idle" && justOver(),
    inView: (live) =>
      live?.state === "launched" ||
      live?.state === "done" ||
      live?.state === "aborted" ||
      (live?.state === "armed" && (run(live) !== null || justOver())),
  };
}
