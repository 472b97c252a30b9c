/** The run that is looked at, kept in its tab so that a reload finds it again. Where storage is closed it is forgotten, and the newest run stands there. */
const KEY = "gripbook.run";

/** null forgets it. */
export function keepPicked(id: number | null): void {
  try {
    if (id === null) sessionStorage.removeItem(KEY);
    else sessionStorage.setItem(KEY, String(id));
  } catch {
    // Storage closed by the browser: nothing measured depends on it.
    return;
  }
}

export function keptPick(): number | null {
  try {
    const kept = sessionStorage.getItem(KEY);
    return kept === null ? null : Number(kept);
  } catch {
    return null;
  }
}
