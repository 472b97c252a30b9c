/** Freezes the live display so that it can be read, and says how to continue; a launch cannot be frozen. */
import type { LiveFeed } from "../live/live-feed.ts";
import type { KeyMap } from "../screen/key-map.ts";
import type { Notices } from "./notices.ts";

export interface FreezeOptions {
  readonly feed: LiveFeed;
  readonly keys: KeyMap;
  readonly notices: Notices;
  announce(words: string): void;
}

export function createFreeze({ feed, keys, notices, announce }: FreezeOptions): (on: boolean) => void {
  return (on) => {
    feed.freeze(on);
    const key = keys.shown("everywhere.freeze");
    const until = [...(key === "" ? [] : [key]), "a change of state, or a launch"].join(", ");
    const words = feed.frozen() ? `Frozen: what is live stands still until ${until}` : null;
    notices.set("freeze", words);
    announce(words ?? "Live again");
  };
}
