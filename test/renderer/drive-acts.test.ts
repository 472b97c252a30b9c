/** What the passenger is told of keys whose effect comes later: a box that a launch closed, and a disarming. Common practice, no source. */
import { beforeEach, expect, test } from "vitest";
import { createDriveActs } from "../../src/renderer/pages/drive/drive-acts.ts";
import type { Question } from "../../src/renderer/screen/dialogs.ts";
import type { LaunchState, LiveEvent } from "../../src/shared/contract/contract.ts";

let said: string[] = [];
let asked: Question[] = [];
let close: (text: string | null) => void = () => undefined;
let refused: Error | null = null;
let last: LiveEvent | null = null;
let follow: (live: LiveEvent) => void = () => undefined;
let acts: ReturnType<typeof createDriveActs>["acts"] = {};

const settled = () => new Promise((resolve) => setImmediate(resolve));
async function see(...states: LaunchState[]): Promise<void> {
  for (const state of states) {
    last = { state, nextLabel: "control on" } as LiveEvent;
    follow(last);
    await settled();
  }
}
/** As the frame closes a box when the car launches. */
async function launch(typed: string): Promise<void> {
  await see("launched");
  asked.at(-1)?.onCutOff?.(typed);
  close(null);
  await see("launched");
}

beforeEach(() => {
  [said, asked, refused, last] = [[], [], null, null];
  const say = (words: string) => void said.push(words);
  ({ acts, follow } = createDriveActs({
    frame: {
      bridge: { request: () => (refused === null ? Promise.resolve({}) : Promise.reject(refused)) },
      feed: { fresh: () => last },
      keys: { shown: (action: string) => (action === "drive.note" ? "N" : "E") },
      runs: () => [],
      fail: (error: Error) => say(error.message),
      ask(question: Question) {
        asked.push(question);
        return new Promise((resolve) => (close = resolve));
      },
    } as unknown as Parameters<typeof createDriveActs>[0]["frame"],
    moments: { answer: say, tell: say, answered: () => null } as unknown as Parameters<typeof createDriveActs>[0]["moments"],
    last: () => last,
    news: () => null,
  }));
});

test("a note that a launch cut off is told once after it, not in it, and the next box opens with it; then it is gone", async () => {
  await see("armed");
  acts["drive.note"]?.();
  await launch("gust from");
  expect(said).toEqual([]);
  await see("done", "armed");
  expect(said).toEqual(["Note not finished: N goes on with it"]);
  acts["drive.note"]?.();
  expect(asked.at(-1)?.value).toBe("gust from");
  close("gust from the left");
  await settled();
  expect(said.at(-1)).toBe("Note kept");
  acts["drive.note"]?.();
  expect(asked.at(-1)?.value).toBe("");
});

test("a label that a launch cut off is kept for its own box; one that was not changed, and an empty note, are no drafts", async () => {
  await see("armed");
  acts["drive.label"]?.();
  await launch("soft map");
  await see("done");
  expect(said).toEqual(["Label not finished: E goes on with it"]);
  acts["drive.note"]?.();
  expect(asked.at(-1)?.value).toBe("");
  await launch("  ");
  await see("done");
  acts["drive.label"]?.();
  expect(asked.at(-1)?.value).toBe("soft map");
  close(null);
  await settled();
  acts["drive.label"]?.();
  expect(asked.at(-1)?.value).toBe("control on");
  await launch("control on");
  await see("done");
  expect(said).toHaveLength(1);
});

test("a draft that is cut off again is still there", async () => {
  acts["drive.note"]?.();
  await launch("gust");
  await see("done");
  acts["drive.note"]?.();
  await launch("gust");
  await see("done");
  acts["drive.note"]?.();
  expect(asked.at(-1)?.value).toBe("gust");
});

test.each(["armed", "standing", "done"] as const)("Esc while %s: Disarmed, once it is", async (state) => {
  await see(state);
  acts["drive.abort"]?.();
  await settled();
  expect(said).toEqual([]);
  await see(state);
  expect(said).toEqual([]);
  await see("idle", "armed", "idle");
  expect(said).toEqual(["Disarmed"]);
});

test("Esc in a launch, or where nothing is armed, or that failed, says nothing of disarming", async () => {
  for (const states of [["launched", "aborted"], ["idle"], ["aborted"], ["armed", "launched", "aborted", "idle"]] as const) {
    await see(states[0]);
    acts["drive.abort"]?.();
    await see(...states.slice(1), "idle");
    expect([states, said]).toEqual([states, []]);
  }
  refused = new Error("the laptop does not answer");
  await see("armed");
  acts["drive.abort"]?.();
  await see("armed", "idle");
  expect(said).toEqual(["the laptop does not answer"]);
});

test("Space that arms nothing says why, and where something is armed already it says nothing", async () => {
  acts["drive.arm"]?.();
  expect(said).toEqual(["Not armed: nothing arrives just now"]);
  last = { state: "idle", nextLabel: "", gnss: { state: "absent" } } as unknown as LiveEvent;
  acts["drive.arm"]?.();
  expect(said.at(-1)).toBe("Not armed: it needs a receiver");
  await see("armed");
  acts["drive.arm"]?.();
  expect(said).toHaveLength(2);
});
