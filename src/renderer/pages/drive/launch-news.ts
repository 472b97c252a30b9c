/** The launch just driven: whether it is still shown, whether its run is in the book yet, and that run while it is new. */
import type { LiveEvent, RunRow } from "../../../shared/contract/contract.ts";

/** How long a launch is waited for and drawn whose run does not come. */
const STORING_MS = 20_000;

export interface LaunchNews {
  /** Takes the event that came, and the one before. */
  follow(before: LiveEvent | null, now: LiveEvent): void;
  /** A run was stored; it is new, and the answer true, only if a launch was seen whose run was missing. */
  stored(run: RunRow): boolean;
  run(live: LiveEvent | null): RunRow | null;
  /** Whether a run is still expected: a launch that leaves no run is waited for only while it is shown. */
  storing(live: LiveEvent | null): boolean;
  /** Whether the launch, running or just over, is drawn. */
  inView(live: LiveEvent | null): boolean;
}

export function createLaunchNews(): LaunchNews {
  let news: RunRow | null = null;
  /** A launch was seen whose run is not stored yet. Until it is, the run before must not be shown as this one's. */
  let pending = false;
  let endMs = Number.NEGATIVE_INFINITY;
  const justOver = () => performance.now() - endMs < STORING_MS;
  /** The core arms again within a frame, so the launch stays on screen while it is new. */
  const run = (live: LiveEvent | null) => (news !== null && (!pending || live?.state === "aborted") ? news : null);
  return {
    follow(before, now) {
      // The last time stays until the next launch, however long the car rolls back or stands.
      if (now.state === "launched") pending = true;
      if (before?.state === "launched" && now.state !== "launched") endMs = performance.now();
    },
    stored(stored) {
      if (news?.id === stored.id) news = stored;
      if (!pending) return false;
      pending = false;
      news = stored;
      return true;
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
