/**
 * Drive: the passenger's view. Space arms, Esc aborts, digits set the label; during a launch only Esc and the abort button work. A failed
 * request is shown.
 */
import type { LiveEvent } from "../../../shared/contract/contract.ts";
import { createLiveTrace } from "../../live/live-trace.ts";
import type { ActionName } from "../../screen/key-map.ts";
import type { Frame, Page } from "../../screen/page.ts";
import { createStayAwake } from "../../screen/stay-awake.ts";
import { createCorrections } from "./corrections.ts";
import { createDriveActs } from "./drive-acts.ts";
import { playCues } from "./drive-cues.ts";
import { createDriveElements, type DriveElements } from "./drive-elements.ts";
import { createDriveFigures } from "./drive-figures.ts";
import { createDriveMoments } from "./drive-moments.ts";
import { createDrivePainter } from "./drive-painter.ts";
import { happened } from "./spoken-event.ts";
import { sayDrive } from "./drive-words.ts";
import { createExpectedGates } from "./expected-gates.ts";
import { createFrameLoop } from "./frame-loop.ts";
import { createLaunchNews } from "./launch-news.ts";

/** Numbers change at most four times a second: faster ones cannot be read in a shaking car. */
const NUMERAL_MS = 250;
const CALM_FRAME_MS = 100;

/** A button does what the key shown on it does. */
function listenToButtons({ foot, run }: DriveElements, press: (action: ActionName) => void): void {
  foot.action.addEventListener("click", () => press(foot.action.dataset.kind === "abort" ? "drive.abort" : "drive.arm"));
  foot.again.addEventListener("click", () => press("drive.again"));
  foot.note.addEventListener("click", () => press("drive.note"));
  foot.leave.addEventListener("click", () => press("drive.leave"));
  run.addEventListener("click", () => press("drive.label"));
}

export function createDrivePage(frame: Frame): Page {
  const elements = createDriveElements(frame.keys);
  const trace = createLiveTrace();
  const awake = createStayAwake(frame.announce);
  const calm = window.matchMedia("(prefers-reduced-motion: reduce)");
  const news = createLaunchNews();
  const expected = createExpectedGates(frame);
  const corrections = createCorrections();
  const figureOf = createDriveFigures({ frame, trace, news, expected });
  const paint = createDrivePainter(elements);
  let last: LiveEvent | null = null;
  let saidAtMs = 0;
  let paintedAtMs = 0;
  /** An abort or an answer does not wait for the numbers' next change. */
  const sayNow = () => {
    saidAtMs = Number.NEGATIVE_INFINITY;
  };
  const moments = createDriveMoments(frame, sayNow);
  const { acts, follow } = createDriveActs({ frame, moments, last: () => last, news: () => news.run(last) });
  listenToButtons(elements, (action) => {
    // During a launch the label does not change, and nothing is asked.
    if (action !== "drive.label" || last?.state !== "launched") acts[action]?.();
  });

  const loop = createFrameLoop((nowMs) => {
    const live = frame.feed.fresh(performance.now());
    moments.count(performance.now());
    if (nowMs - saidAtMs >= NUMERAL_MS) {
      saidAtMs = nowMs;
      sayDrive({ frame, elements, news, moments }, live, performance.now());
    }
    if (nowMs - paintedAtMs < (calm.matches ? CALM_FRAME_MS : 0)) return;
    paintedAtMs = nowMs;
    paint(figureOf(live));
  });

  /** Aloud and in words: a time that was told must not stay wrong in anybody's head. */
  function correct(changes: readonly string[]): void {
    if (changes.length === 0) return;
    moments.correct(changes);
    frame.cues.play("gate", changes.join("; "));
  }

  function onLive(live: LiveEvent): void {
    trace.push(live);
    news.follow(last, live);
    if (live.state !== "standing") moments.endCountdown();
    awake.set(live.state !== "idle" && live.state !== "aborted");
    const words = happened(last, live);
    if (words !== null) frame.announce(words);
    playCues(frame.cues, last, live, words);
    correct(corrections.follow(last, live));
    follow(live);
    if (live.state !== last?.state || live.gates.length !== last.gates.length) sayNow();
    if (live.nextLabel !== last?.nextLabel || live.runsStored !== last?.runsStored) expected.lookUp(live.nextLabel).catch(frame.fail);
    last = live;
  }

  return {
    name: "drive",
    title: "Drive",
    element: elements.root,
    undoSlot: elements.foot.undoSlot,
    acts,
    shown() {
      sayNow();
      loop.start();
    },
    hidden: loop.stop,
    onEvent(event) {
      if (event.event === "live") onLive(event);
      if (event.event !== "runStored") return;
      correct(corrections.stored(event.run, news.stored(event.run)));
    },
    changed() {
      if (last !== null) expected.lookUp(last.nextLabel).catch(frame.fail);
    },
  };
}
