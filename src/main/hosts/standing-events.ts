/** Passes the core's events on. A listener that comes later gets the present notices and the running work first. Never fails. */
import type { CoreEvent, WorkEvent, WorkName } from "../../shared/contract/contract.ts";

export interface StandingEvents {
  tell(event: CoreEvent): void;
  /** Calls the listener with everything present at once, then with every new event. */
  onEvent(listener: (event: CoreEvent) => void): () => void;
  /** What is present may no longer be true: removes every notice and all work. */
  clear(): void;
}

export function createStandingEvents(): StandingEvents {
  const listeners = new Set<(event: CoreEvent) => void>();
  const standing = new Map<string, CoreEvent>();
  const working = new Map<WorkName, WorkEvent>();
  const tell = (event: CoreEvent) => {
    if (event.event === "notice" && event.text !== null) standing.set(event.key, event);
    if (event.event === "notice" && event.text === null) standing.delete(event.key);
    if (event.event === "work" && event.words !== null) working.set(event.work, event);
    if (event.event === "work" && event.words === null) working.delete(event.work);
    for (const listener of listeners) listener(event);
  };
  return {
    tell,
    onEvent(listener) {
      listeners.add(listener);
      for (const event of [...standing.values(), ...working.values()]) listener(event);
      return () => listeners.delete(listener);
    },
    clear() {
      for (const key of [...standing.keys()]) tell({ event: "notice", key, text: null });
      for (const work of [...working.keys()]) tell({ event: "work", work, words: null, share: null, cancellable: false });
    },
  };
}
