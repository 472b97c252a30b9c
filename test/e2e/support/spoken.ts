/** What a page shows as text, with size, colour and ground, and its contrast after WCAG 2.2 (relative luminance, 1.4.3). */
import type { Page } from "playwright-core";

export interface Spoken {
  readonly text: string;
  readonly fontPx: number;
  readonly ink: string;
  readonly ground: string;
}

/** Every visible piece of text under the first element that matches. */
export const spoken = (page: Page, scope: string): Promise<Spoken[]> =>
  page.evaluate((selector) => {
    const found: Spoken[] = [];
    const walker = document.createTreeWalker(document.querySelector(selector) ?? document.body, NodeFilter.SHOW_TEXT);
    for (let node = walker.nextNode(); node !== null; node = walker.nextNode()) {
      const element = node.parentElement;
      const text = node.textContent?.trim() ?? "";
      if (element === null || text === "" || !element.checkVisibility() || element.closest(".out-of-sight") !== null) continue;
      const style = getComputedStyle(element);
      let under: Element | null = element;
      let ground = "rgba(0, 0, 0, 0)";
      while (under !== null && ground === "rgba(0, 0, 0, 0)") {
        ground = getComputedStyle(under).backgroundColor;
        under = under.parentElement;
      }
      found.push({ text, fontPx: Number.parseFloat(style.fontSize), ink: style.color, ground });
    }
    return found;
  }, scope);

function luminance(colour: string): number {
  const [r = 0, g = 0, b = 0] = (colour.match(/[\d.]+/g) ?? []).map((part) => {
    const c = Number(part) / 255;
    return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
  });
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}

export const contrast = (a: string, b: string) => {
  const [x, y] = [luminance(a), luminance(b)];
  return (Math.max(x, y) + 0.05) / (Math.min(x, y) + 0.05);
};
