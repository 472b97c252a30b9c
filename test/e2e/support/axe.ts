/** What axe-core finds wrong with a page as it stands, frames within it aside. Put into each page once: loading it costs three times what looking does. */
import axe from "axe-core";
import type { Page } from "playwright-core";

/** WCAG 2.0 to 2.2, levels A and AA. */
export const WCAG_AA = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"] as const;
export const WCAG_AA_AND_PRACTICE = [...WCAG_AA, "best-practice"] as const;

/** Each rule broken, with the elements that break it. Without `tags` every rule that axe-core asks by itself; `within` is a selector. */
export async function axeFindings(page: Page, tags?: readonly string[], within = "html"): Promise<string[]> {
  if (!(await page.evaluate(() => "axe" in window))) await page.evaluate(axe.source);
  return page.evaluate(
    async ([wanted, include]) => {
      const { axe: inPage } = window as unknown as { axe: typeof axe };
      const { violations } = await inPage.run(
        { include: [[include]], exclude: [["iframe"]] },
        { resultTypes: ["violations"], ...(wanted === undefined ? {} : { runOnly: { type: "tag", values: [...wanted] } }) },
      );
      return violations.map(({ id, nodes }) => `${id}: ${nodes.map((node) => node.html).join(" ")}`);
    },
    [tags, within] as const,
  );
}
