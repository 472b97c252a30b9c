/**
 * Notices that a port's device was unplugged where the system does not say so: its node is gone, or another device has its name. It only looks at the
 * file system and never touches the port. A port without a node (Windows) is not watched.
 */
import { stat } from "node:fs/promises";
import { wait } from "../sources/wait.ts";

const LOOK_MS = 500;
/** A name that is made anew (udev does so) is gone for a moment. */
const LOOKS = 2;

export interface WatchedNode {
  readonly path: string;
  /** Bytes that came so far: a port that still brings some is not given up. */
  readonly bytes: () => number;
  readonly onGone: (why: string) => void;
}

type Seen = { readonly node: string } | "gone" | "unknown";

async function look(path: string): Promise<Seen> {
  try {
    const { dev, ino, rdev } = await stat(path, { bigint: true });
    return { node: `${dev}-${ino}-${rdev}` };
  } catch (error) {
    return (error as NodeJS.ErrnoException).code === "ENOENT" ? "gone" : "unknown";
  }
}

/** Calls `onGone` once, and then looks no more; nor once `signal` is aborted. */
export async function watchNode({ path, bytes, onGone }: WatchedNode, signal: AbortSignal): Promise<void> {
  const first = await look(path);
  if (typeof first === "string") return;
  let doubts = 0;
  let seen = bytes();
  for (;;) {
    await wait(LOOK_MS, signal);
    const now = await look(path);
    if (signal.aborted) return;
    const isOther = now === "gone" || (now !== "unknown" && now.node !== first.node);
    doubts = isOther && bytes() === seen ? doubts + 1 : 0;
    seen = bytes();
    if (doubts < LOOKS) continue;
    return onGone(now === "gone" ? "unplugged (no such device)" : "unplugged (another device has its name)");
  }
}
