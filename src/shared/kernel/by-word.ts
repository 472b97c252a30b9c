/**
 * Records whose keys are people's words. A word may be `constructor` or `__proto__`: such a record has no prototype, and one that came from another process
 * (which gives it one) is read by its own keys alone. Pure; never fails.
 */

/** One that holds these and nothing else; of two under one word the later. */
export function byWord<T>(entries: Iterable<readonly [string, T]> = []): Record<string, T> {
  const record = Object.create(null) as Record<string, T>;
  for (const [word, value] of entries) record[word] = value;
  return record;
}

/** What somebody put there under that word. */
export const ofWord = <T>(record: Readonly<Record<string, T>>, word: string): T | undefined =>
  Object.hasOwn(record, word) ? record[word] : undefined;
