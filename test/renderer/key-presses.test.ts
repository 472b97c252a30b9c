/** One Esc is enough to abort, also while a box is open over the page: docs/design.md, safety. */
import { expect, test } from "vitest";
import { abortsUnderDialog } from "../../src/renderer/app/key-presses.ts";

test("on Drive the Esc that closes a box aborts whatever is armed, and where nothing arrives; before arming it closes the box alone", () => {
  for (const state of ["armed", "standing", "launched", "done", null] as const)
    expect([state, abortsUnderDialog("drive", state)]).toEqual([state, true]);
  for (const state of ["idle", "aborted"] as const) expect([state, abortsUnderDialog("drive", state)]).toEqual([state, false]);
});

test("on any other page it ends a launch, and nothing else", () => {
  expect(abortsUnderDialog("runs", "launched")).toBe(true);
  for (const state of ["idle", "armed", "standing", "done", "aborted", null] as const) expect(abortsUnderDialog("runs", state)).toBe(false);
});
