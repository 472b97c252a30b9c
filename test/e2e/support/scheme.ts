/** Turns the page to a colour scheme by its key. Throws where the page does not hear it, as under an open dialog. */
import type { Page } from "playwright-core";

const SCHEMES = ["day", "night", "sun"] as const;

export function useScheme(page: Page, scheme: (typeof SCHEMES)[number]): Promise<void> {
  return page.evaluate(
    ([wanted, most]) => {
      const { dataset } = document.documentElement;
      for (let i = 0; i < most && dataset.scheme !== wanted; i += 1)
        document.dispatchEvent(new KeyboardEvent("keydown", { key: "t", bubbles: true }));
      if (dataset.scheme !== wanted) throw new Error(`the page is in the ${dataset.scheme} scheme and does not turn to ${wanted}`);
    },
    [scheme, SCHEMES.length] as const,
  );
}
