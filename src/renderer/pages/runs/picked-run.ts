/**
 * The selected run, stored for its tab so that a reload shows it again, by its name that no other book has. Where storage is closed it is
 * forgotten, and the newest run is shown.
 */
const KEY = "gripbook.run";

/** null forgets it. */
export function keepPicked(uid: string | null): void {
  try {
    if (uid === null) sessionStorage.removeItem(KEY);
    else sessionStorage.setItem(KEY, uid);
  } catch {
    // Storage closed by the browser: no measurement depends on it.
    return;
  }
}

export function keptPick(): string | null {
  try {
    return sessionStorage.getItem(KEY);
  } catch {
    return null;
  }
}
