/** Writes a live event on the passenger's view: the view's words, the answer to the last key, the sources' health, the numbers. */
import type { LiveEvent } from "../../../shared/contract/contract.ts";
import { speedIn } from "../../../shared/kernel/shown-units.ts";
import type { Frame } from "../../screen/page.ts";
import { units } from "../../screen/units.ts";
import type { DriveElements } from "./drive-elements.ts";
import type { Answer, DriveMoments } from "./drive-moments.ts";
import { type DriveView, driveView } from "./drive-view.ts";
import type { LaunchNews } from "./launch-news.ts";

export interface DriveWordsOptions {
  readonly frame: Frame;
  readonly elements: DriveElements;
  readonly news: LaunchNews;
  readonly moments: DriveMoments;
}

const speed = (mps: number | null | undefined) => speedIn(units(), mps);

/**
 * An answer takes the lower line's second half, a correction a line beside the large figure: it is longer, and would make the foot higher and move Abort.
 * Under the all-clear the lower line is the word to the driver, and stays.
 */
export function withAnswer(view: DriveView, { words, isCorrection }: Answer): DriveView {
  if ((isCorrection || view.plate.state === "standing") && view.side !== "pairs")
    return { ...view, side: { ...view.side, lines: [words] } };
  return { ...view, next: { ...view.next, quiet: words } };
}

/** `live`: null writes the unknown state. */
export function sayDrive({ frame, elements, news, moments }: DriveWordsOptions, live: LiveEvent | null, nowMs: number): void {
  const view = driveView(live, {
    news: news.run(live),
    storing: news.storing(live),
    silentS: frame.feed.silentS(nowMs),
    simulated: frame.simulated(),
    countdownS: moments.countdownS(nowMs),
    keys: { labels: frame.keys.shown("drive.label1"), mark: frame.keys.shown("drive.mark") },
  });
  const answered = live !== null && live.state !== "launched" ? moments.answered(nowMs) : null;
  elements.say(answered === null ? view : withAnswer(view, answered), live?.state === "launched");
  elements.sayHealth(live?.gnss ?? null, live?.can ?? null);
  elements.sayNumbers([speed(live?.groundSpeedMps), speed(live?.wheelSpeedMps), live?.torqueDeliveredNm, live?.torqueRequestNm]);
}
