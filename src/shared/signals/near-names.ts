/** Finds names similar to one that was not found, for error messages. Pure. */

const LONGEST_COMPARED = 120;

/** Up to `count` names, nearest first; a name that differs only in case or in the message part comes before all others. */
export function nearNames(wanted: string, names: readonly string[], count = 3): string[] {
  const target = wanted.toLowerCase().slice(0, LONGEST_COMPARED);
  const last = target.slice(target.indexOf(".") + 1);
  return names
    .map((name) => {
      const lower = name.toLowerCase().slice(0, LONGEST_COMPARED);
      const sameSignal = lower.slice(lower.indexOf(".") + 1) === last;
      return { name, distance: sameSignal ? 0 : editDistance(target, lower) };
    })
    .sort((a, b) => a.distance - b.distance || (a.name < b.name ? -1 : 1))
    .filter(({ distance }) => distance <= Math.max(3, target.length / 2))
    .slice(0, count)
    .map(({ name }) => name);
}

/** Least number of letters to insert, delete or replace (Levenshtein). */
function editDistance(a: string, b: string): number {
  let before = Uint16Array.from({ length: b.length + 1 }, (_, j) => j);
  let now = new Uint16Array(b.length + 1);
  for (let i = 1; i <= a.length; i++) {
    now[0] = i;
    for (let j = 1; j <= b.length; j++) {
      const replaced = before[j - 1] + (a[i - 1] === b[j - 1] ? 0 : 1);
      now[j] = Math.min(replaced, before[j] + 1, now[j - 1] + 1);
    }
    [before, now] = [now, before];
  }
  return before[b.length];
}
