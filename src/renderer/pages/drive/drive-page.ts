/** Drive: the passenger's view. Space arms, Esc aborts, digits label; while launched only Esc and the abort button act. A failed request is shown, never dropped. */
import { KMH_PER_MPS } from "../../../shared/kernel/units.ts";
import type { CoreEvent, LaunchState, LiveEvent, RunRow } from "../../../shared/contract/contract.ts";
import { setText } from "../../screen/dom.ts";
import { number, shortLabel } from "../../screen/format.ts";
import type { ActionName } from "../../screen/key-map.ts";
import { NOTE_LETTERS } from "../../../shared/contract/letters.ts";
import type { Frame, Page } from "../../screen/page.ts";
import { createStayAwake } from "../../screen/stay-awake.ts";
import { createLiveTrace } from "../../live/live-trace.ts";
import type { Cue } from "../../sound/cues.ts";
import { printData } from "../../../shared/draw/print-data.ts";
import { createDriveElements } from "./drive-elements.ts";
import { axisSeconds, dayScales, type Expectation, expectationOf, lastOf, POSTS } from "../../figures/drive-expectation.ts";
import { type DrivePost, paintDrive } from "./drive-painter.ts";
import { driveView, happened } from "./drive-view.ts";

/** Numerals change at most four times a second: faster cannot be read in a shaking car. */
const NUMERAL_MS = 250;
const CALM_FRAME_MS = 100;
/** How long a stored run is news in the hero while already armed again. */
const NEWS_MS = 20_000;

/** How long the answer to a key stands in the foot line. */
const ANSWER_MS = 3000;

/** Long enough to look round once more. */
const COUNTDOWN_S = 5;

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

const CUE_OF: Partial<Record<LaunchState, Cue>> = { armed: "armed", standing: "ready", done: "done", aborted: "aborted" };
const TORQUE_SCALES_NM = [100, 200, 420, 650, 1000] as const;
const SPEED_SCALES_KMH = [60, 120, 220] as const;
const scaleFor = (scales: readonly number[], value: number) => scales.find((scale) => scale >= value) ?? Math.max(value, 1);

export function createDrivePage(frame: Frame): Page {
  const elements = createDriveElements(frame.keys);
  const trace = createLiveTrace();
  const awake = createStayAwake(frame.announce);
  const calm = window.matchMedia("(prefers-reduced-motion: reduce)");
  let last: LiveEvent | null = null;
  let news: { readonly run: RunRow; readonly atMs: number } | null = null;
  /** A launch was seen of which no run is stored yet: only that run is news, and until it comes an earlier one's time would pass for its own. */
  let pending = false;
  let expectation: Expectation | null = null;
  let expectedFor = "";
  let launchEndMs = Number.NEGATIVE_INFINITY;
  let visible = false;
  let saidAtMs = 0;
  let paintedAtMs = 0;
  let countdownToMs = Number.NEGATIVE_INFINITY;
  let counted: number | null = null;
  let answered = { words: "", untilMs: Number.NEGATIVE_INFINITY };
  let mostTorqueNm = 0;
  let mostSpeedKmh = 0;

  const state = () => frame.feed.fresh(performance.now())?.state ?? null;
  const ask = (request: Promise<unknown>) => request.catch(frame.fail);
  const abort = () => ask(frame.bridge.request("drive.abort", {}));
  const arm = () => {
    const live = frame.feed.fresh(performance.now());
    // What the button says may be a moment old; what arms is the state itself.
    if (live === null || live.gnss.state !== "fresh" || (live.state !== "idle" && live.state !== "aborted")) return;
    void ask(frame.bridge.request("drive.arm", {}));
  };
  /** Labels in the order the book first met them, then the two that every such test has: 1 to 9. A new book so has off on 1 and on on 2. */
  const labels = () =>
    [...new Set([...frame.runs().map((run) => run.label), "traction control off", "traction control on"])]
      .filter((label) => label !== "")
      .slice(0, 9);

  const expect = async (label: string) => {
    const run = lastOf(frame.runs(), label);
    const key = `${label}/${run?.id}`;
    if (key === expectedFor) return;
    expectedFor = key;
    expectation = null;
    if (run === undefined) return;
    const view = await frame.bridge.request("run.show", { run: run.id });
    if (key === expectedFor) expectation = expectationOf(view);
  };

  /** The core arms again by itself within a frame, so the launch stays in view while it is news. */
  const freshNews = (live: LiveEvent | null) =>
    news !== null && performance.now() - news.atMs < NEWS_MS && (!pending || live?.state === "aborted") ? news.run : null;
  /** A launch that leaves no run is waited for no longer than it stays in view. */
  const storing = (live: LiveEvent | null) =>
    pending && live?.state !== "launched" && live?.state !== "idle" && performance.now() - launchEndMs < NEWS_MS;
  const showsLaunch = (live: LiveEvent | null) =>
    live?.state === "launched" ||
    live?.state === "done" ||
    live?.state === "aborted" ||
    (live?.state === "armed" && (freshNews(live) !== null || performance.now() - launchEndMs < NEWS_MS));

  const posts = (live: LiveEvent | null): DrivePost[] => {
    const shown = showsLaunch(live) ? (live?.gates ?? []) : [];
    const passed = shown.filter((gate) => POSTS.includes(gate.gate)).map((gate) => ({ gate: gate.gate, atS: gate.seconds, passed: true }));
    const names = passed.map((post) => post.gate);
    const coming = (expectation?.gates ?? [])
      .filter((gate) => !names.includes(gate.gate))
      .map((gate) => ({ gate: gate.gate, atS: gate.seconds, passed: false }));
    return [...passed, ...coming].sort((a, b) => a.atS - b.atS);
  };

  /** Whole seconds left; the last one stands for one second, then the view is as it was. */
  const countdownS = (nowMs: number) => (nowMs < countdownToMs ? Math.ceil((countdownToMs - nowMs) / 1000) : null);
  const count = (nowMs: number) => {
    const left = countdownS(nowMs);
    if (left === counted) return;
    counted = left;
    saidAtMs = Number.NEGATIVE_INFINITY;
    if (left !== null) frame.cues.play("count");
  };
  /** Says what a key did, or why it did nothing, where the passenger looks and to who listens. */
  const answer = (words: string) => {
    answered = { words, untilMs: performance.now() + ANSWER_MS };
    saidAtMs = Number.NEGATIVE_INFINITY;
    frame.announce(words);
  };
  const countdown = () => {
    if (state() === "standing") countdownToMs = performance.now() + COUNTDOWN_S * 1000;
    else answer("Countdown: only while standing");
  };
  const again = () => {
    const run = freshNews(last);
    if (!last?.plan) return answer("Drive again: needs a plan");
    if (run === null) return answer("Drive again: no run just now");
    frame
      .edit(`The slot of run ${run.id} is driven again`, frame.bridge.request("plan.again", { run: run.id, again: true }))
      .catch(frame.fail);
  };

  const hints = () => ({
    labels: frame.keys.shown("drive.label1"),
    mark: frame.keys.shown("drive.mark"),
  });

  const say = (live: LiveEvent | null, nowMs: number) => {
    const view = driveView(live, {
      news: freshNews(live),
      storing: storing(live),
      silentS: frame.feed.silentS(nowMs),
      countdownS: countdownS(nowMs),
      keys: hints(),
    });
    const answers = live !== null && live.state !== "launched" && nowMs < answered.untilMs;
    elements.say(answers ? { ...view, next: { ...view.next, quiet: answered.words } } : view, live?.state === "launched");
    elements.sayHealth(live?.gnss ?? null, live?.can ?? null);
    const kmh = (mps: number | null | undefined) => (mps === null || mps === undefined ? null : mps * KMH_PER_MPS);
    const values = [kmh(live?.groundSpeedMps), kmh(live?.wheelSpeedMps), live?.torqueDeliveredNm, live?.torqueRequestNm];
    for (const [i, element] of elements.numerals.entries()) setText(element, number(values[i]));
  };

  const paint = (live: LiveEvent | null) => {
    mostTorqueNm = Math.max(mostTorqueNm, live?.torqueRequestNm ?? 0, live?.torqueDeliveredNm ?? 0);
    mostSpeedKmh = Math.max(mostSpeedKmh, (live?.wheelSpeedMps ?? 0) * KMH_PER_MPS, (live?.groundSpeedMps ?? 0) * KMH_PER_MPS);
    const launching = live?.state === "launched";
    const shown = showsLaunch(live);
    const newest = frame.runs().at(-1);
    const empty = { timeS: [], slipKmh: [], heldNm: [], intervening: [] };
    const resting = live?.state === "idle" ? newest : undefined;
    paintDrive(elements, {
      live,
      trace: shown ? trace.data : resting === undefined ? empty : printData(resting.print),
      whose: shown || resting === undefined ? "" : `Run ${resting.id}`,
      penS: launching ? live.launchS : !shown && (live?.state === "standing" || live?.state === "armed") ? 0 : null,
      axisS: axisSeconds(expectation, shown ? trace.endS() : null),
      // A print of one setting under the gates expected of another would say that it passed them there.
      posts: resting !== undefined && resting.label !== live?.nextLabel ? [] : posts(live),
      scales: dayScales(frame.runs()),
      speedScaleKmh: scaleFor(SPEED_SCALES_KMH, mostSpeedKmh),
      torqueScaleNm: scaleFor(TORQUE_SCALES_NM, mostTorqueNm),
    });
  };

  const frameLoop = (nowMs: number) => {
    if (!visible) return;
    requestAnimationFrame(frameLoop);
    const live = frame.feed.fresh(performance.now());
    count(performance.now());
    if (nowMs - saidAtMs >= NUMERAL_MS) {
      saidAtMs = nowMs;
      say(live, performance.now());
    }
    if (nowMs - paintedAtMs < (calm.matches ? CALM_FRAME_MS : 0)) return;
    paintedAtMs = nowMs;
    paint(live);
  };

  const onLive = (live: LiveEvent) => {
    trace.push(live);
    if (live.state === "launched") pending = true;
    if (live.state !== "standing") countdownToMs = Number.NEGATIVE_INFINITY;
    if (last?.state === "launched" && live.state !== "launched") launchEndMs = performance.now();
    awake.set(live.state !== "idle" && live.state !== "aborted");
    const words = happened(last, live);
    if (words !== null) frame.announce(words);
    const cue = last !== null && live.state !== last.state ? CUE_OF[live.state] : undefined;
    if (cue !== undefined) frame.cues.play(cue);
    else if (last !== null && live.gates.length > last.gates.length) frame.cues.play("gate", words ?? undefined);
    else if (words?.includes("lost")) frame.cues.play("lost");
    // A change of state is a cut: it does not wait for the numerals' turn.
    if (last === null || live.state !== last.state || live.gates.length !== last.gates.length) saidAtMs = Number.NEGATIVE_INFINITY;
    if (live.nextLabel !== last?.nextLabel || live.runsStored !== last?.runsStored) expect(live.nextLabel).catch(frame.fail);
    last = live;
  };

  const mark = (note: string) => {
    void ask(frame.bridge.request("drive.mark", { note }).then(() => answer(note === "" ? "Marked" : "Note kept")));
  };
  const note = async () => {
    const text = await frame.ask({ title: "Note at this moment", field: "Note", value: "", button: "Note", most: NOTE_LETTERS });
    if (text !== null) mark(text);
  };
  /** The words come with the answer: a key that failed must not look as if it had labelled. */
  const labelled = (text: string) =>
    void ask(frame.bridge.request("drive.label", { label: text }).then(() => answer(`Next run: ${shortLabel(text)}`)));
  const label = async () => {
    const choices = labels().map((text, at) => ({ text, key: frame.keys.shown(LABEL_ACTIONS[at] ?? "drive.label") }));
    const text = await frame.ask({
      title: "Label of the next run",
      choices,
      field: "Or another",
      value: last?.nextLabel ?? "",
      button: "Label",
    });
    if (text !== null) labelled(text);
  };

  const press = () => (elements.action.dataset.kind === "abort" ? abort() : arm());
  elements.action.addEventListener("click", () => void press());
  elements.again.addEventListener("click", again);
  elements.note.addEventListener("click", () => void note());
  elements.run.addEventListener("click", () => last?.state !== "launched" && void label());
  elements.leave.addEventListener("click", () => frame.go("runs"));

  const labelAs = (at: number) => () => {
    const wanted = labels()[at];
    if (wanted !== undefined) labelled(wanted);
    else answer(`No label ${at + 1} yet`);
  };

  return {
    name: "drive",
    title: "Drive",
    element: elements.root,
    undoSlot: elements.undoSlot,
    acts: {
      "drive.abort": abort,
      "drive.arm": arm,
      ...Object.fromEntries(LABEL_ACTIONS.map((action, i) => [action, labelAs(i)])),
      "drive.mark": () => mark(""),
      "drive.note": () => void note(),
      "drive.label": () => void label(),
      "drive.full": () =>
        void (document.fullscreenElement === null ? document.documentElement.requestFullscreen() : document.exitFullscreen()).catch(
          frame.fail,
        ),
      "drive.countdown": countdown,
      "drive.again": again,
      "drive.leave": () => frame.go("runs"),
    },
    shown() {
      visible = true;
      saidAtMs = Number.NEGATIVE_INFINITY;
      requestAnimationFrame(frameLoop);
    },
    hidden() {
      visible = false;
    },
    onEvent(event: CoreEvent) {
      if (event.event === "live") onLive(event);
      if (event.event !== "runStored" || !pending) return;
      pending = false;
      news = { run: event.run, atMs: performance.now() };
    },
    changed() {
      if (last !== null) expect(last.nextLabel).catch(frame.fail);
    },
  };
}
