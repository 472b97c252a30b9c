/** docs/methods.md names a source, a file and a test for every method, and each file is there. The project's own rule, no published source. */
import { existsSync, readdirSync, readFileSync } from "node:fs";
import { expect, test } from "vitest";

const page = readFileSync("docs/methods.md", "utf8");
const rows = page
  .split("\n")
  .filter((line) => line.startsWith("| ") && !/^\| (---|what \|)/.test(line))
  .map((line) => line.slice(2, -2).split(" | "));
const files = (text = "") => [...text.matchAll(/`([^`]+\.ts)`/g)].map(([, file]) => file as string);

test("every method has what it is, a formula, a source, its code and its test", () => {
  expect(rows.length).toBeGreaterThan(45);
  for (const row of rows) {
    expect(row, row[0]).toHaveLength(5);
    expect(
      row.filter((cell) => cell.trim() === ""),
      row[0],
    ).toEqual([]);
    expect(files(row[3]).length, `${row[0]}: code`).toBeGreaterThan(0);
    expect(files(row[4]).every((file) => file.endsWith(".test.ts")) && files(row[4]).length > 0, `${row[0]}: test`).toBe(true);
  }
});

test("every file that it names is there", () => {
  expect(files(page).filter((file) => !existsSync(file))).toEqual([]);
});

test("the judge's and the tyre's formulas are all on it: no file with a distribution, a fit or a chance is left out", () => {
  const formulas = ["judge", "tune", "align", "launch"].flatMap((room) =>
    readdirSync(`src/shared/${room}`)
      .filter(
        (name) =>
          /^(fit-|.*-fit|rank-|.*-chance|power|drift|effect-|quickest|losses|notice|predict|grip-shape|clock-fit)/.test(name) &&
          name.endsWith(".ts"),
      )
      .map((name) => `src/shared/${room}/${name}`),
  );
  const named = new Set(files(page));
  expect(formulas.length).toBeGreaterThan(10);
  expect(formulas.filter((file) => !named.has(file))).toEqual([]);
});
