/**
 * Labels, conditions, gates and flags are words that people type, and a word may be the name of something that every JavaScript object has
 * (CWE-1321). Each is kept, found only under its own name, and every answer reaches a page: by structured clone between processes, by JSON
 * to a browser.
 */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import fc from "fast-check";
import { afterAll, beforeAll, expect, test } from "vitest";
import { openSqliteBook } from "../../../src/main/adapters/sqlite/sqlite-book.ts";
import { compareView } from "../../../src/main/core/judging/compare-book.ts";
import { gatesOf, setOwnGates } from "../../../src/main/core/judging/own-gates.ts";
import { planView } from "../../../src/main/core/judging/plan-view.ts";
import { reportOf } from "../../../src/main/core/judging/report-of-book.ts";
import { usePlan } from "../../../src/main/core/judging/test-plan.ts";
import { rowsOf, viewOf } from "../../../src/main/core/library/library.ts";
import { runEditAnswers } from "../../../src/main/core/library/run-requests.ts";
import type { Book } from "../../../src/main/ports/book.ts";
import { checkRequest } from "../../../src/shared/contract/contract.ts";
import { prefilled, conditionsSet } from "../../../src/renderer/edits/conditions.ts";
import { oddWord, oddWords } from "../../support/odd-words.ts";
import { addTimedRuns } from "../../support/timed-book.ts";

const NOW_US = Date.UTC(2031, 4, 4, 18) * 1000;
let folder = "";
let made = 0;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-words-"));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** As an answer arrives: out of the measuring process, then into a browser. Text that JSON cannot hold would be a fault too. */
const asArrived = <T>(answer: T): T => JSON.parse(JSON.stringify(structuredClone(answer))) as T;

/** As a page's request arrives. */
const asked = (name: string, argument: unknown) => checkRequest(name, JSON.parse(JSON.stringify(argument))).argument;

/** An object that has these keys as its own, `__proto__` too. */
const record = <T>(entries: readonly (readonly [string, T])[]): Record<string, T> => Object.fromEntries(entries);

const edit = (book: Book, argument: unknown) =>
  runEditAnswers({ book, utcUs: () => NOW_US, edited: () => undefined })["runs.edit"](argument as never);

async function note(book: Book, run: number, key: string, value: string | null) {
  return asArrived(await edit(book, asked("runs.edit", { edits: [{ run, conditions: record([[key, value]]) }] })));
}

test("every word is kept and found under its own name, and Compare, Plan and Report hold", async () => {
  await fc.assert(
    fc.asyncProperty(oddWords(2), oddWords(3), oddWord, async ([off = "", on = ""], [noted = "", other = "", gate = ""], value) => {
      made += 1;
      const file = join(folder, `${made}.gripbook`);
      addTimedRuns(
        file,
        [5.0, 5.05, 5.11, 4.35, 4.42, 4.46].map((seconds, i) => ({
          label: i < 3 ? off : on,
          seconds,
          rolling: [{ gate, seconds: seconds - 1, wheelSeconds: seconds - 1 }],
        })),
      );
      const book = openSqliteBook({ file, create: false });
      try {
        const before = asArrived(viewOf(book, 2).run.conditions);
        const { undo } = await note(book, 2, noted, value);
        await note(book, 3, other, value);
        expect(Object.entries(asArrived(viewOf(book, 2)).run.conditions)).toEqual([[noted, value]]);
        expect(Object.entries(asArrived(viewOf(book, 1)).run.conditions)).toEqual([]);
        expect((undo.argument as { edits: object }).edits).toEqual([{ run: 2, conditions: record([[noted, null]]) }]);
        if (!gatesOf(book).some(({ name }) => name === gate))
          setOwnGates(book, [{ kind: "rolling", name: gate, fromMps: 5, toMps: 20 }], NOW_US);
        const hold = record([[noted, { low: 1 }]]);
        usePlan(
          book,
          { groups: [off, on], runsPerGroup: 3, gates: [gate, "0-60 mph"], usableLengthM: 2000, runOffNote: "grass", hold },
          NOW_US,
        );
        const plan = asArrived(planView(book, { measured: record([]), utcUs: NOW_US }));
        expect(plan.progress?.hold).toEqual([{ key: noted, state: "unknown", words: `${noted} unknown` }]);
        const view = asArrived(await compareView(book, { groups: [off, on], gate: "0-60 mph" }));
        expect(view.pairs.map(({ a, b }) => [a.label, b.label, a.values.length, b.values.length])).toEqual([[off, on, 3, 3]]);
        expect(view.pairs[0]?.warnings.join("\n")).toContain(`unequal ${noted}: `);
        const { html } = await reportOf(book, { groups: [off, on], gate: "0-60 mph", softwareVersion: "0", utcUs: NOW_US });
        expect(html).not.toContain("function ");
        expect(html).toContain("not noted");
        expect(asArrived(rowsOf(book)).map((row) => row.label)).toEqual([off, off, off, on, on, on]);
        await edit(book, asked("runs.edit", undo.argument));
        expect(asArrived(viewOf(book, 2).run.conditions)).toEqual(before);
      } finally {
        book.close();
      }
    }),
    {
      numRuns: 8,
      examples: [
        [["constructor", "__proto__"], ["toString", "hasOwnProperty", "valueOf"], "constructor"],
        [["toString", "valueOf"], ["constructor", "__proto__", "toString"], "__proto__"],
        [["__proto__", "then"], ["__proto__", "constructor", "valueOf"], "x"],
      ],
    },
  );
});

test("what a page shows beforehand and sends is under the same names", () => {
  fc.assert(
    fc.property(oddWords(2), fc.string({ minLength: 1 }), ([mine = "", theirs = ""], value) => {
      const own = record([[mine, value]]);
      const before = record([[theirs, value]]);
      expect(prefilled(theirs, [own], record<string>([]))).toEqual({ value: "", fromBefore: false, differ: [] });
      expect(prefilled(mine, [own], before)).toEqual({ value, fromBefore: false, differ: [] });
      // An emptied field removes its condition, whatever its name.
      const said = (text: string) => ({ fields: record([[mine, text]]), own: [], changes: [] });
      expect(Object.entries(conditionsSet([own], said(" ")))).toEqual([[mine, null]]);
      const nothing = [record<string>([]), record<string>([])];
      expect(Object.entries(conditionsSet(nothing, said("wet")))).toEqual([[mine, "wet"]]);
      // Under a name of people's own it is the same word.
      const own2 = { fields: record<string>([]), own: [{ key: mine, value: "wet" }], changes: [] };
      expect(Object.entries(conditionsSet(nothing, own2))).toEqual([[mine, "wet"]]);
    }),
  );
});

test("an edit of many runs is told once, however many they are", async () => {
  const file = join(folder, "many.gripbook");
  addTimedRuns(
    file,
    Array.from({ length: 40 }, (_, i) => ({ label: "on", seconds: 5 + i / 100 })),
  );
  const book = openSqliteBook({ file, create: false });
  const told: (readonly number[])[] = [];
  const answers = runEditAnswers({ book, utcUs: () => NOW_US, edited: (runs) => told.push(runs) });
  const ids = book.runs().map(({ id }) => id);
  await answers["runs.edit"]({ edits: ids.map((run) => ({ run, label: "off" })) });
  await answers["runs.edit"]({ edits: ids.slice(0, 2).map((run) => ({ run, conditions: { surface: "wet" } })) });
  expect(told).toEqual([ids, ids.slice(0, 2)]);
  book.close();
});
