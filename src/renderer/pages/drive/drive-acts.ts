/**
 * What the passenger's keys and buttons do: arm, abort, count down, label, mark, note, drive a slot again. An action without effect says
 * why; errors go to the frame.
 */
import type { LiveEvent, RunRow } from "../../../shared/contract/contract.ts";
import { NOTE_LETTERS } from "../../../shared/contract/letters.ts";
import { shortLabel } from "../../screen/format.ts";
import type { ActionName } from "../../screen/key-map.ts";
import type { Frame } from "../../screen/page.ts";
import { createDriveDrafts } from "./drive-drafts.ts";
import type { DriveMoments } from "./drive-moments.ts";
import { nextLabels } from "./next-labels.ts";

const LABEL_ACTIONS = [
  "drive.label1",
  "drive.label2",
  "drive.label3",
  "drive.label4",
  "drive.label5",
  "drive.label6",
  "drive.label7",
  "drive.label8",
  "drive.label9",
] as const satisfies readonly ActionName[];

export interface DriveActsOptions {
  readonly frame: Frame;
  readonly moments: DriveMoments;
  /** The last event, however old. */
  last(): LiveEvent | null;
  /** The run just stored, while it is shown as new. */
  news(): RunRow | null;
}

/** Before or after a launch; after one it is armed again at once. */
const isArmed = (live: LiveEvent | null) => live !== null && (live.state === "armed" || live.state === "standing" || live.state === "done");

/** By the names of their keys. */
type Acts = Readonly<Partial<Record<ActionName, () => unknown>>>;

export interface DriveActs {
  readonly acts: Acts;
  /** Takes each event: what a key did may show only later. */
  follow(live: LiveEvent): void;
}

export function createDriveActs({ frame, moments, last, news }: DriveActsOptions): DriveActs {
  const { bridge, fail } = frame;
  const { answer } = moments;
  const fresh = () => frame.feed.fresh(performance.now());
  const drafts = createDriveDrafts(frame);
  /** Esc was pressed while armed, and its effect is not seen yet. */
  let disarming = false;
  const labels = () => nextLabels(frame.runs(), last()?.plan?.groups ?? [], LABEL_ACTIONS.length);

  function arm(): void {
    const live = fresh();
    // The button's words may be a moment old; the state itself decides whether it arms.
    if (live === null) answer("Not armed: nothing arrives just now");
    else if (live.state === "idle" || live.state === "aborted") {
      if (live.gnss.state === "fresh") bridge.request("drive.arm", {}).catch(fail);
      else answer("Not armed: it needs a receiver");
    }
  }

  /** Told by the state that follows: a launch may begin before the key arrives, and then it is aborted. */
  function abort(): void {
    disarming = isArmed(last());
    bridge.request("drive.abort", {}).catch((error) => {
      disarming = false;
      fail(error);
    });
  }

  function countDown(): void {
    if (fresh()?.state === "standing") moments.beginCountdown();
    else answer("Countdown: only while standing");
  }

  function again(): void {
    const run = news();
    if (!last()?.plan) answer("Drive again: needs a plan");
    else if (run === null) answer("Drive again: no run just now");
    else frame.edit(`The slot of run ${run.id} is driven again`, bridge.request("plan.again", { run: run.id, again: true })).catch(fail);
  }

  function mark(note: string): void {
    bridge
      .request("drive.mark", { note })
      .then(() => answer(note === "" ? "Marked" : "Note kept"))
      .catch(fail);
  }

  async function note(): Promise<void> {
    const text = await drafts.ask("drive.note", {
      title: "Note at this moment",
      field: "Note",
      value: "",
      button: "Note",
      most: NOTE_LETTERS,
    });
    if (text !== null) mark(text);
  }

  /** The words are shown with the answer: a key that failed must not look as if it had worked. */
  function label(text: string): void {
    bridge
      .request("drive.label", { label: text })
      .then(() => answer(`Next run: ${shortLabel(text)}`))
      .catch(fail);
  }

  async function askLabel(): Promise<void> {
    const value = last()?.nextLabel ?? "";
    const text = await drafts.ask("drive.label", {
      title: "Label of the next run",
      choices: labels(),
      field: "Or another",
      value,
      button: "Label",
    });
    if (text !== null) label(text);
  }

  function labelAs(at: number): void {
    const wanted = labels()[at];
    if (wanted !== undefined) label(wanted);
    else answer(`No label ${at + 1} yet`);
  }

  function fullScreen(): void {
    const turned = document.fullscreenElement === null ? document.documentElement.requestFullscreen() : document.exitFullscreen();
    turned.catch(fail);
  }

  function followDisarm(live: LiveEvent): void {
    if (!disarming || isArmed(live)) return;
    disarming = false;
    if (live.state === "idle") answer("Disarmed");
  }

  /** During a launch nothing may distract, and a correction is the greater news. */
  function follow(live: LiveEvent): void {
    followDisarm(live);
    if (live.state === "launched" || moments.answered(performance.now())?.isCorrection === true) return;
    const words = drafts.untold();
    if (words !== null) moments.tell(words);
  }

  const acts: Acts = {
    "drive.abort": abort,
    "drive.arm": arm,
    ...Object.fromEntries(LABEL_ACTIONS.map((action, i) => [action, () => labelAs(i)])),
    "drive.mark": () => mark(""),
    "drive.note": note,
    "drive.label": askLabel,
    "drive.full": fullScreen,
    "drive.countdown": countDown,
    "drive.again": again,
    "drive.leave": () => frame.go("runs"),
  };
  return { acts, follow };
}
