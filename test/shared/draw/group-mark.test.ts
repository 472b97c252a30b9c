/** Marks of groups: as many as the largest experiment that is drawn has settings beside the groups of two days, and none looks like another. */
import { expect, test } from "vitest";
import { isSolidMark, MARK_NAMES } from "../../../src/shared/draw/group-mark.ts";
import { inscribedComposite } from "../../../src/shared/judge/factorial-design.ts";
import { groupMarkSvg } from "../../../src/shared/report/report-figures.ts";

const drawn = MARK_NAMES.map((_, mark) => String(groupMarkSvg(mark)));

test("each has a drawing and a name of its own, beyond the last the last is seen again", () => {
  expect(new Set(drawn).size).toBe(MARK_NAMES.length);
  expect(new Set(MARK_NAMES).size).toBe(MARK_NAMES.length);
  expect(String(groupMarkSvg(MARK_NAMES.length + 3))).toBe(drawn.at(-1));
  expect(MARK_NAMES.length).toBeGreaterThanOrEqual(inscribedComposite(1).length + 4);
});

test("a mark called solid is filled whole, others are not", () => {
  expect(MARK_NAMES.filter((_, mark) => isSolidMark(mark))).toEqual(
    MARK_NAMES.filter((name) => name === "disc" || name.startsWith("solid")),
  );
});
