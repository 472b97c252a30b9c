/**
 * The page's own half of what lets it in on the web host. It comes once, behind "#", and is kept by this address alone: unlike a cookie it goes to no
 * other port. Where the browser keeps nothing it holds for this page as long as it is open; without one the host refuses.
 */

const NAME = "gripbook.page-key";
const GIVEN = /^#key=([\w-]+)$/;

export function pageKey(): string {
  const given = GIVEN.exec(window.location.hash)?.[1];
  try {
    if (given === undefined) return window.localStorage.getItem(NAME) ?? "";
    window.localStorage.setItem(NAME, given);
  } catch {
    // Private windows may refuse to keep anything.
  }
  // Neither in the address bar nor in the history.
  if (given !== undefined) window.history.replaceState(null, "", window.location.pathname);
  return given ?? "";
}
