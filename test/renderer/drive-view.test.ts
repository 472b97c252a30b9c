/** What the passenger reads in each state. Words after docs/look.md and the design's safety section: no cue says go, unknown is the word, only Esc acts while launched. */
import { expect, test } from "vitest";
import { createLiveFeed } from "../../src/renderer/live/live-feed.ts";
import { createLiveTrace, heldBackNm } from "../../src/renderer/live/live-trace.ts";
import { driveView } from "../../src/renderer/pages/drive/drive-view.ts";
import { happened } from "../../src/renderer/pages/drive/spoken-event.ts";
import { withAnswer } from "../../src/renderer/pages/drive/drive-words.ts";
import type { LaunchState, LiveEvent, RunRow } from "../../src/shared/contract/contract.ts";
import { REST } from "../support/live-event.ts";

const LIVE: LiveEvent = {
  ...REST,
  tS: 104,
  runsStored: 7,
  groundSpeedMps: 18,
  wheelSpeedMps: 19.5,
  slipSpeedMps: 1.5,
  slipRatio: 1.5 / 18,
  greatestSlipSpeedMps: 1.5,
  greatestHeldNm: 50,
  torqueRequestNm: 395,
  torqueDeliveredNm: 345,
  pedalPercent: 100,
  intervening: true,
};
const ROW: RunRow = {
  id: 8,
  uid: "u",
  final: false,
  label: "traction control on",
  startedAt: null,
  courseDeg: 254,
  seconds: 4.42,
  plusMinus95: 0.012,
  flags: [],
  use: true,
  note: "",
  print: { slipKmh: [], heldNm: [], intervening: [] },
};
const NONE = { news: null, storing: false, simulated: false, silentS: null, countdownS: null, keys: { labels: "1", mark: "M" } };
const gates = [{ gate: "60 ft", seconds: 2.381, plusMinus95: 0.011, settled: true }];

test("driveView() shows one thing at a time: runs stored, Ready, ground speed, the last gate, the result", () => {
  const hero = (live: Partial<LiveEvent>, news: RunRow | null = null) => driveView({ ...LIVE, ...live }, { ...NONE, news }).hero;
  expect(hero({})).toMatchObject({ label: "Runs stored", text: "7" });
  expect(hero({ state: "armed" })).toMatchObject({ label: "Traction control", text: "ON" });
  expect(hero({ state: "standing" })).toMatchObject({ label: "Still for 4 s", text: "Ready" });
  expect(hero({ state: "standing", stateSinceS: 0.4 })).toMatchObject({ label: "Standing still", text: "Ready" });
  expect(hero({ state: "launched", launchS: 1 })).toMatchObject({ label: "Ground speed", text: "65", unit: "km/h" });
  expect(hero({ state: "launched", launchS: 3, gates })).toMatchObject({ label: "60 ft", text: "2.38", unit: "s" });
  expect(hero({ state: "launched", launchS: 3, gates: gates.map((gate) => ({ ...gate, settled: false })) })).toMatchObject({
    label: "60 ft, provisional",
  });
  expect(hero({ state: "done" }, ROW)).toMatchObject({ label: "0–60 mph ±\u00a00.012 s", text: "4.42", unit: "s" });
  expect(hero({ state: "aborted" })).toMatchObject({ text: "Aborted", label: "Kept and flagged" });
});

test("under the all-clear the word to the driver stays, and a correction leaves the lower line where there is room beside", () => {
  const standing = driveView({ ...LIVE, state: "standing" }, NONE);
  const armed = driveView({ ...LIVE, state: "armed" }, NONE);
  const correction = { words: "0–30 mph is 2.18 s, not 2.17", isCorrection: true };
  const marked = { words: "Marked", isCorrection: false };
  for (const answer of [correction, marked]) {
    const told = withAnswer(standing, answer);
    expect(told.next).toEqual({ strong: "Look round, then give the all-clear", quiet: "The driver starts on your word" });
    expect(told.side).toMatchObject({ lines: [answer.words] });
  }
  expect(withAnswer(armed, marked).next.quiet).toBe("Marked");
  const aborted = driveView({ ...LIVE, state: "aborted" }, NONE);
  expect(withAnswer(aborted, correction)).toMatchObject({ next: { strong: "Stop, look round" }, side: { lines: [correction.words] } });
  // Where both speeds and torques stand beside, there is no other place.
  expect(armed.side).toBe("pairs");
  expect(withAnswer(armed, correction).next.quiet).toBe(correction.words);
});

test("driveView() says unknown, never 0 and never the last value, for whatever is unknown", () => {
  const view = driveView(
    { ...LIVE, state: "launched", groundSpeedMps: null, slipSpeedMps: null, slipRatio: null, torqueDeliveredNm: null },
    NONE,
  );
  expect([view.hero.text, view.slip, view.held]).toEqual(["unknown", "unknown", "unknown"]);
  const silent = driveView(null, { ...NONE, silentS: 4 });
  expect([silent.plate.word, silent.hero.text, silent.slip, silent.held]).toEqual(["unknown", "unknown", "unknown", "unknown"]);
  expect(silent.hero.label).toContain("4 s");
  expect(silent.action.kind).toBe("abort");
});

test("driveView() gives slip as a ratio where the core gives one, else as a speed", () => {
  expect(driveView({ ...LIVE, state: "launched" }, NONE).slip).toBe("8\u00a0%");
  expect(driveView({ ...LIVE, state: "launched", slipRatio: null }, NONE).slip).toBe("5\u00a0km/h");
  expect(driveView({ ...LIVE, slipRatio: null, slipSpeedMps: 0, wheelSpeedMps: LIVE.groundSpeedMps }, NONE).slip).toBe("none");
});

test("driveView() names what is missing, and says why Arm is off", () => {
  const view = driveView({ ...LIVE, gnss: { state: "wrong", words: "garbage at this baud: try 38400" } }, NONE);
  expect(view.hero).toMatchObject({ text: "No receiver", label: "Receiver: wrong" });
  expect(view.action).toEqual({ kind: "arm", offBecause: "Arm needs a receiver" });
  expect(driveView({ ...LIVE, can: { state: "stale", words: "silent for 4 s" } }, NONE).hero.text).toBe("No bus");
});

test("driveView() says what to do about a device that was unplugged, before arming and after", () => {
  const gone = { state: "absent", words: "CAN adapter: /dev/x is gone: plug it in again, it is opened by itself" } as const;
  for (const state of ["idle", "armed"] as const) {
    expect(driveView({ ...LIVE, state, can: gone }, NONE).next.quiet).toBe("Plug the adapter in again");
    expect(driveView({ ...LIVE, state, gnss: gone }, NONE).next.quiet).toBe("Plug the receiver in again");
  }
});

test("armed and rolling, driveView() says that nothing is timed, and of the simulated car that it launches by itself", () => {
  const rolling = { ...LIVE, state: "armed" } as const;
  expect(driveView(rolling, NONE).next).toEqual({ strong: "Rolling: nothing is timed", quiet: "Stand still to be ready" });
  expect(driveView(rolling, { ...NONE, simulated: true }).next.quiet).toBe("It stops and launches by itself");
  expect(driveView({ ...rolling, groundSpeedMps: 0.1 }, NONE).next.strong).toBe("Stand still to be ready");
});

test("driveView() says when the switch and the label disagree", () => {
  expect(JSON.stringify(driveView({ ...LIVE, state: "standing", tractionControlEnabled: false }, NONE).side)).toContain("Switch says off");
});

test("driveView() shows a label's ON that the switch denies as a caution in every state before the launch, and never as the car's own", () => {
  const off = { ...LIVE, tractionControlEnabled: false };
  expect(driveView({ ...off, state: "standing" }, NONE).side).toMatchObject({ what: "Label, not the switch", how: "ON", caution: true });
  const armed = driveView({ ...off, state: "armed" }, NONE);
  expect(armed.hero).toMatchObject({ label: "Label, not the switch", text: "ON", caution: true });
  // The run before, shown as new, does not hide it.
  expect(driveView({ ...off, state: "armed" }, { ...NONE, news: ROW }).next.quiet).toContain("Switch says off");
  expect(driveView({ ...LIVE, state: "standing" }, NONE).side).toMatchObject({ what: "Traction control", caution: false });
});

test("driveView() holds only a label that speaks of traction control against its switch", () => {
  const soft = { ...LIVE, state: "standing", nextLabel: "soft map on", tractionControlEnabled: false } as const;
  const { side, run } = driveView(soft, NONE);
  expect(side).toMatchObject({ what: "Soft map", how: "ON", lines: ["Control off, charge 71\u00a0%"], caution: false });
  expect(run).toBe("Run 8, soft map on");
  expect(driveView({ ...soft, nextLabel: "wet" }, NONE).side).toMatchObject({ how: "Wet", lines: ["Control off, charge 71\u00a0%"] });
  for (const nextLabel of ["TC on", "On", "control: on"])
    expect(driveView({ ...soft, nextLabel }, NONE).side).toMatchObject({ caution: true });
});

test("driveView() says of an abort what is next in one line, and offers a note", () => {
  const view = driveView({ ...LIVE, state: "aborted" }, NONE);
  expect([view.next, view.mayNote]).toEqual([{ strong: "Stop, look round", quiet: "" }, true]);
  expect(driveView({ ...LIVE, state: "done" }, NONE).mayNote).toBe(false);
});

test("driveView() numbers the run that the label is for: from the end of a launch on that is the run after it, and the one driven is named as stored", () => {
  const run = (state: LaunchState, storing: boolean, runsStored = 7) =>
    driveView({ ...LIVE, state, runsStored, nextLabel: "soft map on" }, { ...NONE, storing, news: storing ? null : ROW }).run;
  expect(run("launched", false)).toBe("Run 8, soft map on");
  for (const state of ["done", "armed", "aborted"] as const) {
    expect(run(state, true)).toBe("Run 9, soft map on");
    expect(run(state, false, 8)).toBe("Run 9, soft map on");
  }
  expect(driveView({ ...LIVE, state: "done", runsStored: 8 }, { ...NONE, news: ROW }).next.strong).toBe("Stored as run 8");
});

test("driveView() names no setting of a plan while the launch is being stored: the plan still has that launch's slot as the next", () => {
  const plan = { done: 3, total: 6, group: "soft map on", direction: "outbound", ready: true, words: "next: soft map on, outbound" };
  for (const state of ["standing", "done", "aborted", "armed"] as const) {
    const live = { ...LIVE, state, plan, nextLabel: "soft map on" };
    const { side, next, hero } = driveView(live, { ...NONE, storing: true });
    expect(JSON.stringify([side, next, hero])).not.toMatch(/soft map|outbound|all-clear/i);
    expect(driveView(live, { ...NONE, storing: true }).run).toBe("Run 9");
    expect(driveView(live, NONE).run).toBe("Run 8, soft map on");
  }
  expect(driveView({ ...LIVE, state: "standing", plan, nextLabel: "soft map on" }, { ...NONE, storing: true }).next.strong).toBe(
    "Wait: the next setting follows",
  );
});

test("driveView() armed again says that the run is being stored, not what it said before the launch", () => {
  const armed = (storing: boolean, news: RunRow | null) => driveView({ ...LIVE, state: "armed" }, { ...NONE, storing, news }).hero.text;
  expect([armed(true, null), armed(false, ROW), armed(false, null)]).toEqual(["Storing", "4.42", "ON"]);
});

test("driveView() armed without a receiver or a bus says that it is not ready without it: standing still alone would not make it so", () => {
  const { next } = driveView({ ...LIVE, state: "armed", can: { state: "stale", words: "silent for 3 s" } }, NONE);
  expect(next).toEqual({ strong: "No bus: not ready", quiet: "Bus: silent for 3 s" });
});

test("driveView() never says go, and offers the abort from armed until done", () => {
  const states: LaunchState[] = ["idle", "armed", "standing", "launched", "done", "aborted"];
  for (const state of states) {
    const view = driveView({ ...LIVE, state }, NONE);
    expect(JSON.stringify(view)).not.toMatch(/\bgo\b/i);
    expect(view.action.kind).toBe(state === "idle" || state === "aborted" ? "arm" : "abort");
  }
  expect(driveView({ ...LIVE, state: "launched" }, NONE).next.quiet).toBe("Only Esc acts now");
});

test("happened() speaks of events only", () => {
  expect(happened(LIVE, { ...LIVE, groundSpeedMps: 30 })).toBeNull();
  expect(happened(LIVE, { ...LIVE, state: "armed" })).toBe("Armed");
  expect(happened({ ...LIVE, state: "launched" }, { ...LIVE, state: "launched", gates })).toBe("60 ft: 2.38 seconds");
  expect(happened(LIVE, { ...LIVE, can: { state: "stale", words: "silent for 1 s" } })).toBe("Bus lost: silent for 1 s");
});

test("heldBackNm() counts what the control took, not what the driver lifted", () => {
  expect(heldBackNm({ torqueRequestNm: 395, torqueDeliveredNm: 345 })).toBe(50);
  expect(heldBackNm({ torqueRequestNm: 0, torqueDeliveredNm: -40 })).toBe(0);
  expect(heldBackNm({ torqueRequestNm: 100, torqueDeliveredNm: 104 })).toBe(0);
  expect(heldBackNm({ torqueRequestNm: null, torqueDeliveredNm: 1 })).toBeNull();
});

test("createLiveFeed() lets a value expire after 0.3 s, or three periods where those are longer", () => {
  const fast = createLiveFeed();
  for (let t = 0; t <= 3_000; t += 33) fast.push(LIVE, t);
  expect(fast.fresh(2_970 + 299)).toBe(LIVE);
  expect(fast.fresh(2_970 + 301)).toBeNull();
  expect(fast.silentS(2_970 + 4_500)).toBe(4);
  const slow = createLiveFeed();
  for (let t = 0; t <= 20_000; t += 250) slow.push(LIVE, t);
  expect(slow.fresh(20_000 + 700)).toBe(LIVE);
  expect(slow.fresh(20_000 + 800)).toBeNull();
});

test("createLiveTrace() keeps one launch until the next begins, with unknown as NaN", () => {
  const trace = createLiveTrace();
  trace.push({ ...LIVE, state: "launched", launchS: 0.1 });
  trace.push({ ...LIVE, state: "launched", launchS: 0.2, greatestSlipSpeedMps: null });
  trace.push({ ...LIVE, state: "done" });
  trace.push({ ...LIVE, state: "armed" });
  expect(trace.data.timeS).toEqual([0.1, 0.2]);
  expect(trace.data.slipKmh).toEqual([5.4, Number.NaN]);
  trace.push({ ...LIVE, state: "launched", launchS: 0.05 });
  expect(trace.data.timeS).toEqual([0.05]);
});

test("driveView() counts down only while standing, in plain seconds", () => {
  const counting = { ...NONE, countdownS: 3 };
  expect(driveView({ ...LIVE, state: "standing" }, counting).hero).toMatchObject({ text: "3", unit: "s" });
  expect(driveView({ ...LIVE, state: "standing" }, NONE).hero.text).toBe("Ready");
  expect(driveView({ ...LIVE, state: "launched" }, counting).hero.label).not.toContain("Countdown");
});

test("createLiveFeed() stands still when frozen, until the state changes; a launch cannot be frozen", () => {
  const feed = createLiveFeed();
  feed.push({ ...LIVE, groundSpeedMps: 1 }, 0);
  feed.freeze(true);
  feed.push({ ...LIVE, groundSpeedMps: 2 }, 16);
  expect(feed.fresh(5_000)?.groundSpeedMps).toBe(1);
  feed.push({ ...LIVE, state: "armed" }, 32);
  expect(feed.frozen()).toBe(false);
  expect(feed.fresh(40)?.state).toBe("armed");
  feed.push({ ...LIVE, state: "launched" }, 48);
  feed.freeze(true);
  expect(feed.frozen()).toBe(false);
});

test("createLiveTrace() draws the greatest since the event before, not the value that happened to be newest", () => {
  const trace = createLiveTrace();
  trace.push({ ...LIVE, state: "launched", launchS: 0.1, slipSpeedMps: 1, greatestSlipSpeedMps: 9, greatestHeldNm: 180 });
  expect(trace.data.slipKmh[0]).toBeCloseTo(32.4, 9);
  expect(trace.data.heldNm).toEqual([180]);
});

test("driveView() offers to drive the slot again only with a plan, while the stored run is news, and never in a launch or before one", () => {
  const plan = { done: 8, total: 12, group: "traction control on", direction: "eastbound", ready: true, words: "next" };
  const may = (live: Partial<LiveEvent>, news: RunRow | null = ROW) => driveView({ ...LIVE, ...live }, { ...NONE, news }).mayDriveAgain;
  expect(may({ state: "done", plan })).toBe(true);
  expect(may({ state: "armed", plan })).toBe(true);
  expect(may({ state: "armed" })).toBe(false);
  expect(may({ state: "armed", plan }, null)).toBe(false);
  for (const state of ["standing", "launched"] as const) expect(may({ state, plan })).toBe(false);
});

test("driveView() prints the keys as they are, and none where there is none", () => {
  const said = (keys: { labels: string; mark: string; note: string }) =>
    driveView({ ...LIVE, state: "done" }, { ...NONE, news: ROW, keys }).next.quiet;
  expect(said({ labels: "1", mark: "Q", note: "N" })).toBe("Digits label the next run, Q adds a mark");
  expect(said({ labels: "", mark: "", note: "" })).toBe("");
});

test("driveView() says that a full plan arms for one run at a time, and no figure of a silence that has just begun", () => {
  const plan = { done: 12, total: 12, group: null, direction: null, ready: true, words: "all planned runs are in" };
  expect(driveView({ ...LIVE, state: "idle", plan }, NONE).next.quiet).toBe("Plan is full: arm for each run");
  expect(driveView({ ...LIVE, state: "idle" }, NONE).next.quiet).toBe("Driver: eyes on the course");
  const silent = (silentS: number) => JSON.stringify(driveView(null, { ...NONE, silentS }));
  expect(silent(0)).toContain("Nothing arrives");
  expect(silent(0)).not.toContain("0 s");
  expect(silent(3)).toContain("Nothing arrives for 3 s");
});
