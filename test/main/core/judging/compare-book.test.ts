/** What Compare says where a filter leaves nothing to compare: the filter, not the labels and gates of the book. */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { expect, test } from "vitest";
import { nothingWords } from "../../../../src/renderer/pages/compare/compare-words.ts";
import { openSqliteBook } from "../../../../src/main/adapters/sqlite/sqlite-book.ts";
import { compareView } from "../../../../src/main/core/judging/compare-book.ts";
import { addTimedRuns, WORKED_EXAMPLE } from "../../../support/timed-book.ts";

test("a filter that no run holds is named, with how many runs there are and how to take it off", () => {
  const folder = mkdtempSync(join(tmpdir(), "gripbook-"));
  const file = join(folder, "day.gripbook");
  const ids = addTimedRuns(file, WORKED_EXAMPLE);
  const book = openSqliteBook({ file, create: false });
  try {
    for (const id of ids) book.setConditions(id, { "tyre pressure": id === 1 ? "2.2" : "2.1" }, 1);
    const none = compareView(book, { where: ["tyre pressure<2", "use=yes"] });
    expect(none.pairs).toEqual([]);
    expect(none.why).toBe(`None of the ${ids.length} runs holds tyre pressure<2 and use=yes`);
    expect(nothingWords(none, "O")).toBe(
      `None of the ${ids.length} runs holds tyre pressure<2 and use=yes. For all runs press O, and leave the line empty.`,
    );
    // One run is no two groups: there the labels are what is missing, or the filter.
    const few = compareView(book, { where: ["tyre pressure>2.1"] });
    expect(nothingWords(few, "O")).toMatch(/^Two groups of runs with a time for .* For all runs press O, and leave the line empty\.$/);
    // Without a filter there is none to take off; without single keys there is the button.
    const other = compareView(book, { gate: "60-100 mph" });
    expect(nothingWords(other, "O")).toMatch(/^Two groups of runs .* choose another gate\.$/);
    expect(nothingWords(none, "")).toMatch(/ For all runs press Runs, and leave the line empty\.$/);
  } finally {
    book.close();
    rmSync(folder, { recursive: true, force: true });
  }
});
