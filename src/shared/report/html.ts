/** Text for HTML and SVG: everything that came from outside passes through `escapeHtml`. Never fails. */

const ENTITIES: Readonly<Record<string, string>> = { "&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#39;" };

export function escapeHtml(text: string): string {
  return text.replace(/[&<>"']/g, (sign) => ENTITIES[sign] as string);
}
