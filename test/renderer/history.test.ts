/** Undo and redo as every editor has them (common practice, no source): a new edit ends what could be redone, a failed step loses nothing. */
import { expect, test } from "vitest";
import type { Edited } from "../../src/shared/contract/contract.ts";
import { createHistory, type Step } from "../../src/renderer/app/history.ts";

function noted() {
  let label = "a";
  let failing = false;
  const said: string[] = [];
  const way = (to: string): Edited["undo"] => ({ name: "runs.edit", argument: { label: to } });
  const set = (to: string) => {
    const before = label;
    label = to;
    return way(before);
  };
  const history = createHistory({
    async request({ argument }) {
      if (failing) throw new Error("busy");
      return { undo: set((argument as { label: string }).label) };
    },
    async after(done, undone) {
      said.push(`${undone ? "undone" : "again"} ${done}`);
    },
  });
  return {
    history,
    said,
    label: () => label,
    edit: (to: string, fit?: Step["fit"]) => history.did({ done: to, way: set(to), ...(fit && { fit }) }),
    fail: (now: boolean) => (failing = now),
  };
}

test("createHistory() goes back step by step and forward again", async () => {
  const { history, label, edit, said } = noted();
  edit("b");
  edit("c");
  await history.undo();
  await history.undo();
  await history.undo();
  expect(label()).toBe("a");
  await history.redo();
  await history.redo();
  await history.redo();
  expect(label()).toBe("c");
  await history.undo();
  edit("d");
  await history.redo();
  expect(label()).toBe("d");
  expect(said).toEqual(["undone c", "undone b", "again b", "again c", "undone c"]);
});

test("createHistory() keeps a step that failed", async () => {
  const { history, label, edit, fail } = noted();
  edit("b");
  fail(true);
  await expect(history.undo()).rejects.toThrow("busy");
  fail(false);
  await history.undo();
  expect(label()).toBe("a");
});

test("createHistory() goes back with what holds then, not with what held when the edit was made", async () => {
  const { history, label, edit } = noted();
  let elsewhere = "";
  edit("b", (argument) => ({ label: `${(argument as { label: string }).label}${elsewhere}` }));
  elsewhere = ", set aside meanwhile";
  await history.undo();
  expect(label()).toBe("a, set aside meanwhile");
});
