/** Conditions as people type them: KEY=VALUE. A pair without a key throws RangeError; an empty value takes the key away (null). */
import { byWord } from "../../shared/kernel/by-word.ts";

export function readPairs(pairs: readonly string[]): Record<string, string | null> {
  return byWord(
    pairs.map((pair) => {
      const at = pair.indexOf("=");
      if (at < 1) throw new RangeError(`Expected KEY=VALUE (an empty VALUE takes the key away), got ${JSON.stringify(pair)}`);
      const value = pair.slice(at + 1).trim();
      return [pair.slice(0, at).trim(), value === "" ? null : value] as const;
    }),
  );
}
