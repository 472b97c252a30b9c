/**
 * Records whose keys are words that people typed, such as labels. A word may be `constructor` or `__proto__`, so these records have no
 * prototype. A record from another process does have one; `ofWord` reads own keys only. Pure; never fails.
 */

/** A record of exactly these entries. Where a word comes twice, the later entry counts. */
export function byWord<T>(entries: Iterable<readonly [string, T]> = []): Record<string, T> {
  const record = Object.create(null) as Record<string, T>;
  for (const [word, value] of entries) record[word] = value;
  return record;
}

/** The value stored under that word, or undefined. */
export const ofWord = <T>(record: Readonly<Record<string, T>>, word: string): T | undefined =>
  Object.hasOwn(record, word) ? record[word] : undefined;
