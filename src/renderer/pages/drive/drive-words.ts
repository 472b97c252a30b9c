/** Says a live event on the passenger's view: the view's words, what a key just answered, the sources' health, the numerals. */
import type { LiveEvent } from "../../../shared/contract/contract.ts";
import { KMH_PER_MPS } from "../../../shared/kernel/units.ts";
import { setText } from "../../screen/dom.ts";
import { number } from "../../screen/format.ts";
import type { Frame } from "../../screen/page.ts";
import type { DriveElements } from "./drive-elements.ts";
import type { DriveMoments } from "./drive-moments.ts";
import { driveView } from "./drive-view.ts";
import type { LaunchNews } from "./launch-news.ts";

export interface DriveWordsOptions {
  readonly frame: Frame;
  readonly elements: DriveElements;
  readonly news: LaunchNews;
  readonly moments: DriveMoments;
}

const kmh = (mps: number | null | undefined) => (mps === null || mps === undefined ? null : mps * KMH_PER_MPS);

/** `live`: null says what is unknown. */
export function sayDrive({ frame, elements, news, moments }: DriveWordsOptions, live: LiveEvent | null, nowMs: number): void {
  const view = driveView(live, {
    news: news.run(live),
    storing: news.storing(live),
    silentS: frame.feed.silentS(nowMs),
    countdownS: moments.countdownS(nowMs),
    keys: { labels: frame.keys.shown("drive.label1"), mark: frame.keys.shown("drive.mark") },
  });
  const answered = live !== null && live.state !== "launched" ? moments.answered(nowMs) : null;
  elements.say(answered === null ? view : { ...view, next: { ...view.next, quiet: answered } }, live?.state === "launched");
  elements.sayHealth(live?.gnss ?? null, live?.can ?? null);
  const values = [kmh(live?.groundSpeedMps), kmh(live?.wheelSpeedMps), live?.torqueDeliveredNm, live?.torqueRequestNm];
  for (const [i, element] of elements.numerals.entries()) setText(element, number(values[i]));
}
