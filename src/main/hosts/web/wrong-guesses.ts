/**
 * Counts wrong secrets by the address that they come from. Who tries too many different ones is not looked at for a minute, not even with
 * the right one. The same wrong one again is no new guess: a page of an earlier session asks on with what it has. Memory is bounded: with
 * too many addresses at once, everyone waits.
 */
import { createHash } from "node:crypto";

export interface WrongGuesses {
  isTooMany(from: string): boolean;
  note(from: string, secret: string): void;
}

/** On loopback: secrets of 128 bits, and nobody from outside. */
export const NO_LIMIT: WrongGuesses = { isTooMany: () => false, note: () => undefined };

const MOST_GUESSES = 10;
const MOST_ADDRESSES = 500;
const MINUTE_MS = 60_000;

export function countGuesses(nowMs: () => number): WrongGuesses {
  let sinceMs = nowMs();
  const wrong = new Map<string, Set<string>>();
  const fresh = () => {
    if (nowMs() - sinceMs < MINUTE_MS) return;
    sinceMs = nowMs();
    wrong.clear();
  };
  return {
    isTooMany(from) {
      fresh();
      return wrong.size >= MOST_ADDRESSES || (wrong.get(from)?.size ?? 0) >= MOST_GUESSES;
    },
    note(from, secret) {
      fresh();
      const tried = wrong.get(from) ?? new Set();
      if (tried.size < MOST_GUESSES) tried.add(createHash("sha256").update(secret).digest("base64"));
      if (wrong.size < MOST_ADDRESSES) wrong.set(from, tried);
    },
  };
}
