/** docs/accuracy.md begins with one page whose figures are those of the tables behind it: ranges read off a table of three classes by hand. */
import { readFileSync } from "node:fs";
import { expect, test } from "vitest";
import { accuracyPage, behindFirstPage, firstPage } from "../../claims/first-page.ts";

const row = (what: string, rms: string, inside: string, width: string) =>
  `| ${what} | 200 | ${rms} |  | ${inside} % (90 to 99) | ${width} |  |`;
const table = (name: string, ...rows: string[]) =>
  `### ${name}\n\n200 drives.\n\n| what | n | RMS error | x bound | inside ± | mean ± | not held |\n| --- |\n${rows.join("\n")}\n`;
const sixty = (rms: string, inside: string, width: string) => row("0-60 mph from movement", `${rms} ms`, inside, width);
const TABLES = [
  table(
    "second car: all sources, dry",
    sixty("1.73", "96.5", "3.93"),
    row("rolling radius", "0.008 %", "98.5", "0.019"),
    row("slip error / (1 + slip)", "0.027 %", "98.0", ""),
  ),
  table("second car: no undriven wheels", sixty("4.12", "99.5", "10.07")),
  table("second car: receiver and torque", sixty("15.61", "90.5", "13.67")),
  table("second car: receiver and undriven wheels", sixty("9.99", "97.5", "26.28")),
  table("second car: receiver alone", sixty("17.18", "97.0", "42.99")),
  table("second car: receiver alone, correlated", sixty("20.70", "94.5", "52.83"), row("30-60 mph from entry", "9.51 ms", "88.0", "13.47")),
  table("second car: bus without stamps", sixty("2.06", "95.5", "4.23"), row("slip error / (1 + slip)", "0.063 %", "88.2", "")),
  table("test days: second car, wet", row("best slip (slip itself)", "0.177 %", "100.0", "0.857")),
].join("\n");

test("its first page says of each set of sources the range that the tables have", () => {
  const page = firstPage(TABLES);
  expect(page).toContain("| receiver, motor speed, torque and undriven wheels | 0.002 s | ± 0.004 s | 96 to 97 of 100 |");
  expect(page).toContain("| receiver alone | 0.017 to 0.021 s | ± 0.043 to 0.053 s | 95 to 97 of 100 |");
  expect(page).toContain("holds the truth in only 88 of 100 cases");
  expect(page).toContain("off by 0.027 to 0.063 % of wheel speed");
});

test("a table that is missing is named", () => {
  expect(() => firstPage(TABLES.replace("receiver and torque", "x"))).toThrow(
    /docs\/accuracy\.md: no table says 0-60 mph from movement of .*receiver and torque.*npm run claims/,
  );
});

test("docs/accuracy.md is in step with its own tables, and its first page is one page", () => {
  const page = readFileSync("docs/accuracy.md", "utf8");
  expect(page).toBe(accuracyPage(behindFirstPage(page)));
  expect(firstPage(behindFirstPage(page)).split(/\s+/).length).toBeLessThan(750);
});
