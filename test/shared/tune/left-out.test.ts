import { expect, test } from "vitest";
import { leftOutWords } from "../../../src/shared/tune/left-out.ts";

test("one run is told with its reason, many of one kind in a sentence with the first as an example", () => {
  const gap = (run: number) => ({ run, kind: "receiver gap", why: `No speed for ${run}.4 s.` });
  expect(leftOutWords([gap(4)])).toEqual(["Run 4 is left out: No speed for 4.4 s."]);
  expect(leftOutWords([gap(4), { run: 5, kind: "aborted", why: "Aborted." }, gap(6), gap(9)])).toEqual([
    "Runs 4, 6 and 9 are left out, each for the same: receiver gap. Run 4: No speed for 4.4 s.",
    "Run 5 is left out: Aborted.",
  ]);
  const many = leftOutWords(Array.from({ length: 169 }, (_, i) => gap(i + 1)));
  expect(many).toEqual(["169 runs (1, 2, 3 ...) are left out, each for the same: receiver gap. Run 1: No speed for 1.4 s."]);
});
