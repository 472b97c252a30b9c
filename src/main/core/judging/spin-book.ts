/** How early each way of noticing spin would have noticed, and what a control that looks more or less often would have made of a group, simulated. An unknown group or gate throws RangeError. */
import type { SpinView } from "../../../shared/contract/tune-views.ts";
import type { Book } from "../../ports/book.ts";
import type { SpinAsked } from "../../ports/tuning.ts";
import { onlyRuns } from "../library/chosen-runs.ts";
import { noticeBook } from "./notice-book.ts";
import { predictBook } from "./predict-book.ts";

export async function spinView(whole: Book, { group, gate, where }: SpinAsked): Promise<SpinView> {
  const book = onlyRuns(whole, where);
  const notice = await noticeBook(book, {});
  return { notice, predicted: group === undefined ? null : await predictBook(book, { group, gate, trial: {} }) };
}
