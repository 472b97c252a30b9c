/** Gives a file to the browser to save; the person chooses where. */
import { el } from "./dom.ts";

export function saveFile(name: string, content: Blob): void {
  const address = URL.createObjectURL(content);
  el("a", { download: name, href: address }).click();
  // The click has used the address by then.
  setTimeout(() => URL.revokeObjectURL(address), 0);
}
