/** Makes every page anew once other units are chosen: whatever is on a page was written in the ones before. */
import type { Frame, Page } from "../screen/page.ts";
import type { CurrentPage } from "./current-page.ts";
import { createPages } from "./pages.ts";
import type { Settings } from "./settings.ts";

/** `pages`: its content is replaced. */
export function createRenewal(settings: Settings, pages: Page[], frame: Frame, current: CurrentPage): () => void {
  let of = settings.units;
  return () => {
    if (settings.units === of) return;
    of = settings.units;
    pages.splice(0, pages.length, ...createPages(frame));
    current.renew(pages);
    current.show();
  };
}
