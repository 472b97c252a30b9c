/**
 * The runs that are sought: by words that stand in them, or, where no run has these, by terms that hold for them as on Compare
 * ("surface=wet; day>=2031-05-04"). Terms are asked for again when the runs have changed. Bad terms reject, and what was sought before stays.
 */
import type { RunRow } from "../../../shared/contract/contract.ts";
import { termsOf } from "../../../shared/judge/run-filter.ts";
import type { Frame } from "../../screen/page.ts";
import { areTerms, foundRuns } from "./run-filter.ts";

export interface RunSearch {
  /** Empty: all runs. */
  sought(): string;
  found(): readonly RunRow[];
  seek(words: string): Promise<void>;
}

/** `onNews`: other runs are found, as the runs changed. */
export function createRunSearch(frame: Pick<Frame, "bridge" | "runs" | "fail">, onNews: () => void): RunSearch {
  let sought = "";
  /** Of the terms; null where words are sought. */
  let held: { readonly ids: ReadonlySet<number>; readonly of: readonly RunRow[] } | null = null;

  /** A page is drawn many times for one search. */
  let last: { readonly of: readonly RunRow[]; readonly sought: string; readonly found: readonly RunRow[] } | null = null;
  function byWords(runs: readonly RunRow[]): readonly RunRow[] {
    if (last?.of !== runs || last.sought !== sought) last = { of: runs, sought, found: foundRuns(runs, sought) };
    return last.found;
  }

  async function heldBy(text: string): Promise<typeof held> {
    const of = frame.runs();
    if (!areTerms(text) || foundRuns(of, text).length > 0) return null;
    return { ids: new Set(await frame.bridge.request("runs.chosen", { where: termsOf(text) })), of };
  }

  async function again(text: string): Promise<void> {
    const now = await heldBy(text);
    if (text !== sought) return;
    held = now;
    onNews();
  }

  return {
    sought: () => sought,
    found() {
      const runs = frame.runs();
      if (held === null) return byWords(runs);
      const { ids, of } = held;
      if (of !== runs) {
        held = { ids, of: runs };
        again(sought).catch(frame.fail);
      }
      return runs.filter(({ id }) => ids.has(id));
    },
    async seek(words) {
      const text = words.trim();
      const now = await heldBy(text);
      [sought, held] = [text, now];
    },
  };
}
