/** Which labels a key or a tap gives the next run: a plan's are among them before a run has them. */
import { expect, test } from "vitest";
import { nextLabels } from "../../src/renderer/pages/drive/next-labels.ts";

test("nextLabels() offers the book's labels, then the plan's, then the usual two, each once", () => {
  expect(nextLabels([], [], 9)).toEqual(["traction control off", "traction control on"]);
  expect(nextLabels([{ label: "map A" }, { label: "" }], ["map A", "map B"], 9).slice(0, 2)).toEqual(["map A", "map B"]);
  const many = Array.from({ length: 12 }, (_, i) => ({ label: `map ${i}` }));
  expect(nextLabels(many, ["map 3"], 9)).toEqual(many.slice(0, 9).map(({ label }) => label));
});
