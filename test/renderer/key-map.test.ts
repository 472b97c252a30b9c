/** One map of keys: no two actions of a screen share one (WCAG 2.2, 2.1.4: single keys can be turned off and changed), and a clash is named in words. */
import { expect, test } from "vitest";
import { createKeyMap } from "../../src/renderer/screen/key-map.ts";
import type { PageName } from "../../src/renderer/screen/page-name.ts";

const PAGES: readonly PageName[] = ["car", "wiring", "before", "drive", "runs", "compare", "lost", "plan", "report"];

test.each(PAGES)("createKeyMap() gives every action of %s a key of its own", (page) => {
  const keys = createKeyMap({}, true);
  const names = keys
    .rows(page)
    .filter((row) => row.fixed === false)
    .map((row) => row.shown);
  expect(new Set(names).size).toBe(names.length);
  for (const row of keys.rows(page)) expect(row.meaning + row.shown).not.toBe("");
});

test("createKeyMap() moves an action to another key; the old one then does nothing, and what screens print follows", () => {
  const keys = createKeyMap({}, true);
  expect(keys.action("drive", "r")).toBe("drive.again");
  expect(keys.set("drive.again", "Q")).toBeNull();
  expect(keys.action("drive", "r")).toBeNull();
  expect(keys.action("drive", "q")).toBe("drive.again");
  expect(keys.shown("drive.again")).toBe("Q");
  expect(keys.set("drive.arm", "F2")).toBeNull();
  expect(keys.action("drive", "F2")).toBe("drive.arm");
  // The same key on another screen is free.
  expect(keys.set("runs.play", "q")).toBeNull();
});

test("createKeyMap() names a clash, also with what acts everywhere, and keeps Esc, Enter, Tab and arrows", () => {
  const keys = createKeyMap({}, true);
  expect(keys.set("drive.again", "m")).toMatch(/^M is taken on Drive: mark this moment, not in a launch\./);
  expect(keys.set("drive.again", "t")).toMatch(/^T is taken everywhere: night, day, sun/);
  expect(keys.set("everywhere.scheme", "m")).toMatch(/^M is taken on Drive/);
  for (const key of ["Escape", "Enter", "Tab", "ArrowLeft", "F1", "F5", "Home"])
    expect(keys.set("drive.again", key)).toMatch(/stays what it is on every screen/);
  expect(keys.set("drive.abort", "q")).toBe("This key stays as it is");
  expect(keys.action("drive", "Escape")).toBe("drive.abort");
  expect(keys.shown("drive.again")).toBe("R");
});

test("createKeyMap() keeps what was changed, also two keys that changed places, and leaves out what no longer fits", () => {
  const keys = createKeyMap({}, true);
  keys.set("drive.mark", "q");
  keys.set("drive.note", "m");
  keys.set("drive.mark", "n");
  const kept = keys.changed();
  expect(kept).toEqual({ "drive.mark": "n", "drive.note": "m" });
  const again = createKeyMap(kept, true);
  expect(again.action("drive", "n")).toBe("drive.mark");
  expect(again.action("drive", "m")).toBe("drive.note");
  const odd = createKeyMap({ "drive.mark": "t", "drive.abort": "q", "no.such": "q", "drive.note": 7, "drive.arm": "Escape" }, true);
  expect(odd.changed()).toEqual({});
  expect(odd.action("drive", "Escape")).toBe("drive.abort");
  again.reset();
  expect(again.changed()).toEqual({});
});

test("createKeyMap() turned off leaves Esc, Enter and function keys, and prints no key that does nothing", () => {
  const keys = createKeyMap({ "drive.full": "F2" }, false);
  expect(keys.action("drive", " ")).toBeNull();
  expect(keys.shown("drive.arm")).toBe("");
  expect(keys.everywhere("t")).toBeNull();
  expect(keys.action("drive", "Escape")).toBe("drive.abort");
  expect(keys.shown("drive.abort")).toBe("Esc");
  expect(keys.action("drive", "F2")).toBe("drive.full");
  keys.turn(true);
  expect(keys.action("drive", " ")).toBe("drive.arm");
});
