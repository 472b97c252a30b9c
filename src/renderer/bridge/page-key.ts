/**
 * The page's own part of what lets it in on the web host. It comes once, after "#", and is stored for this address alone: unlike a cookie
 * it is sent to no other port. Where the browser stores nothing, it is valid while this page is open; without it the host refuses.
 */

const NAME = "gripbook.page-key";
const GIVEN = /^#key=([\w-]+)$/;

export function pageKey(): string {
  const given = GIVEN.exec(window.location.hash)?.[1];
  try {
    if (given === undefined) return window.localStorage.getItem(NAME) ?? "";
    window.localStorage.setItem(NAME, given);
  } catch {
    // Private windows may refuse to store anything.
  }
  // Removed from the address bar and the history.
  if (given !== undefined) window.history.replaceState(null, "", window.location.pathname);
  return given ?? "";
}
