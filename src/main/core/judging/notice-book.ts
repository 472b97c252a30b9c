/** Replays the ways of noticing spin over a book's recordings. Recordings that are still open, or have no run in use, are left out. */
import { SPINNING } from "../../../shared/tune/losses.ts";
import type { NoticeView } from "../../../shared/contract/tune-views.ts";
import { curveFor } from "../../../shared/tune/group-losses.ts";
import { notice, type NoticeDrive, type NoticeSetting, sweepLimit, USUAL_NOTICE } from "../../../shared/tune/notice.ts";
import { NOTICE_WAYS, type NoticeWay } from "../../../shared/tune/spin-watch.ts";
import type { Book } from "../../ports/book.ts";
import { breathe } from "../basics/breathe.ts";
import { fittedOf } from "./advise-book.ts";
import { alignedRecording } from "./aligned-recording.ts";

export interface NoticeRequest {
  /** Every way unless named. */
  readonly way?: NoticeWay | undefined;
  readonly threshold?: number | undefined;
  readonly everyS?: number | undefined;
  readonly lateS?: number | undefined;
}

/** Only the newest recordings, and at most the first hour of each. */
const MOST_RECORDINGS = 4;
const MOST_NS = 3600e9;
/** Where the best slip is unknown, wheels spin above a slip that is beyond any road tyre's best (common practice, no source). */
const USUAL_SPIN = 0.3;

export async function noticeBook(book: Book, { way, threshold, everyS, lateS }: NoticeRequest): Promise<NoticeView> {
  const { found, grip } = await fittedOf(book);
  const recordingOf = new Map(book.runs().map((run) => [run.id, run.recording]));
  const newest = [...new Set(found.runs.flatMap((run) => recordingOf.get(run.id) ?? []))].sort((a, b) => b - a).slice(0, MOST_RECORDINGS);
  const drives: NoticeDrive[] = [];
  for (const id of newest) {
    const recording = book.recording(id);
    const calibration = book.newestCalibration(id)?.calibration;
    if (recording.state === "open" || calibration === undefined) continue;
    const { aligned, setUp } = await alignedRecording(book, recording, MOST_NS);
    drives.push({
      recording: aligned,
      calibration,
      gearRatio: setUp.car.gearRatio,
      runs: found.runs.filter((run) => recordingOf.get(run.id) === id),
      spinsOver: (run) => {
        const best = curveFor(grip, run)?.bestSlip ?? null;
        return best === null ? USUAL_SPIN : SPINNING * best.value;
      },
    });
    await breathe();
  }
  const settingOf = (one: NoticeWay): NoticeSetting => {
    const usual = USUAL_NOTICE[one];
    return { way: one, threshold: threshold ?? usual.threshold, everyS: everyS ?? usual.everyS, lateS: lateS ?? usual.lateS };
  };
  const ways = [];
  for (const one of way === undefined ? NOTICE_WAYS : [way]) {
    ways.push(notice(drives, settingOf(one)));
    await breathe();
  }
  const limits = way === undefined || way === "acceleration" ? sweepLimit(drives, settingOf("acceleration")) : [];
  const notes = drives.length === 0 ? ["No closed recording holds a run in use: there is nothing to replay."] : [];
  return { ways, limits, notes };
}
