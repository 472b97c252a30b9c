/**
 * A group has one mark wherever it is drawn: its place among the book's groups. Neither the order of a comparison, nor the draw, nor a
 * later plan changes it.
 */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { openSqliteBook } from "../../../../src/main/adapters/sqlite/sqlite-book.ts";
import { reportOf } from "../../../../src/main/core/judging/report-of-book.ts";
import { usePlan } from "../../../../src/main/core/judging/test-plan.ts";
import { groupOrder } from "../../../../src/main/core/library/group-order.ts";
import type { Book } from "../../../../src/main/ports/book.ts";
import { addTimedRuns } from "../../../support/timed-book.ts";

let folder = "";
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-groups-"));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const plan = (groups: readonly string[]) => ({ groups, runsPerGroup: 2, usableLengthM: 900, runOffNote: "grass", seed: 1 });

/** "on" was driven first, though the plan named "off" first. */
function planned(name: string, act: (book: Book) => void): void {
  const file = join(folder, name);
  let book = openSqliteBook({ file, create: true });
  usePlan(book, plan(["off", "on"]), 1);
  expect(groupOrder(book)).toEqual(["off", "on"]);
  book.close();
  addTimedRuns(
    file,
    [4.4, 5.0, 4.5, 5.1].map((seconds, i) => ({ label: i % 2 === 0 ? "on" : "off", seconds })),
  );
  book = openSqliteBook({ file, create: false });
  try {
    act(book);
  } finally {
    book.close();
  }
}

test("groups stand in the order in which the book first met them: in a run, or in a plan that was put to use", () => {
  planned("order.gripbook", (book) => {
    expect(groupOrder(book)).toEqual(["off", "on"]);
    usePlan(book, plan(["calm", "on"]), 2);
    expect(groupOrder(book)).toEqual(["off", "on", "calm"]);
    book.setLabel(1, "", 3);
    expect(groupOrder(book)).toEqual(["off", "on", "calm"]);
  });
});

/** Each print's mark on paper by its run's label. */
function marks(html: string): Map<string, string> {
  const found = [...html.matchAll(/<figcaption>(<svg.*?<\/svg>)<span>\d+, (on|off)<\/span>/g)];
  return new Map(found.map(([, svg, label]) => [label as string, svg as string]));
}

test("on paper a group keeps its mark, whichever is compared with which", async () => {
  let asked: Promise<Map<string, string>[]> = Promise.resolve([]);
  const file = join(folder, "paper.gripbook");
  addTimedRuns(
    file,
    [5.0, 5.1, 4.4, 4.5].map((seconds, i) => ({ label: i < 2 ? "off" : "on", seconds })),
  );
  const book = openSqliteBook({ file, create: false });
  try {
    const pages = [
      ["off", "on"],
      ["on", "off"],
    ].map((groups) => reportOf(book, { groups, softwareVersion: "0", utcUs: 1 }));
    asked = Promise.all(pages).then((reports) => reports.map(({ html }) => marks(html)));
    const [one, other] = await asked;
    expect(one?.size).toBe(2);
    expect(one?.get("off")).not.toBe(one?.get("on"));
    expect(other).toEqual(one);
  } finally {
    book.close();
  }
});
