/** Hands a file to the browser's own saving; where it goes is the person's choice. */
import { el } from "./dom.ts";

export function saveFile(name: string, content: Blob): void {
  const address = URL.createObjectURL(content);
  el("a", { download: name, href: address }).click();
  // The click has taken the address by the next turn.
  setTimeout(() => URL.revokeObjectURL(address), 0);
}
