/**
 * The selected run, stored for its tab so that a reload shows it again. Where storage is closed it is forgotten, and the newest run is
 * shown.
 */
const KEY = "gripbook.run";

/** null forgets it. */
export function keepPicked(id: number | null): void {
  try {
    if (id === null) sessionStorage.removeItem(KEY);
    else sessionStorage.setItem(KEY, String(id));
  } catch {
    // Storage closed by the browser: no measurement depends on it.
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
