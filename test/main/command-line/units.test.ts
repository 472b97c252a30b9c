/**
 * `--units`: what a command prints, a report and a run's CSV are in mph and ft, JSON is as ever. Converted here again by NIST SP 811,
 * appendix B.8 (mile 1,609.344 m, foot 0.3048 m).
 */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { gripbook } from "../../support/run-gripbook.ts";
import { addTimedRuns, WORKED_EXAMPLE } from "../../support/timed-book.ts";

const folder = mkdtempSync(join(tmpdir(), "gripbook-units-"));
const book = join(folder, "day.gripbook");
beforeAll(() => {
  addTimedRuns(book, [...WORKED_EXAMPLE, { label: "on", seconds: null }]);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const MPH = 1000 / 1609.344;

test("show says speeds in mph, before or after the command's name, and km/h unasked", async () => {
  const peak = `Peak slip ${(14.4 * MPH).toFixed(1)} mph`;
  for (const asked of [
    ["show", "9", "--book", book, "--units", "mph"],
    ["--units", "mph", "show", "9", "--book", book],
  ]) {
    const { code, out } = await gripbook(...asked);
    expect(code).toBe(0);
    expect(out).toContain(peak);
    // Lifted at 80 km/h.
    expect(out).toContain(`lifted at ${(80 * MPH).toFixed(0)} mph`);
    // The car's own measure.
    expect(out).toContain("Rolling radius 0.3240 m");
    expect(out).not.toContain("km/h");
  }
  const { out } = await gripbook("show", "9", "--book", book);
  expect(out).toContain("Peak slip 14.4 km/h");
  expect(out).toContain("lifted at 80 km/h");
});

test("JSON is in the core's units, whatever is asked for, and its sentences are plain text", async () => {
  const plain = await gripbook("show", "9", "--book", book, "--json");
  const asked = await gripbook("show", "9", "--book", book, "--json", "--units", "mph");
  expect(asked).toEqual(plain);
  expect(plain.out).toContain("lifted at 80 km/h");
  expect(plain.out).not.toContain("\u202f");
});

test("compare, plan and a refusal say them too", async () => {
  const compared = await gripbook("compare", "--book", book, "--a", "off", "--b", "on", "--units", "mph");
  expect(compared.out).toContain(`lifted at ${(80 * MPH).toFixed(0)} mph`);
  const file = join(folder, "plan.json");
  writeFileSync(file, JSON.stringify({ groups: ["off", "on"], usableLengthM: 180, runOffNote: "grass" }));
  const { code, err } = await gripbook("plan", "--book", book, "--set", file, "--units", "mph");
  expect(code).toBe(2);
  // 180 m are 590.55 ft, and are too short: rounded down. 73 m to stop from 60 mph at 0.5 g are 240.6 ft.
  expect(err).toMatch(/too short: \d+ ft needed, 590 ft given: 1\.5 × \(\d+ ft to 0-60 mph.* \+ 241 ft to stop at 0\.5 g\)/);
});

test("a report and a run's CSV carry them, the CSV in its names and units", async () => {
  const page = join(folder, "day.html");
  expect((await gripbook("report", "--book", book, "--out", page, "--units", "mph")).code).toBe(0);
  const html = readFileSync(page, "utf8");
  expect(html).toContain("peak slip, mph");
  expect(html.replace(/<pre>.*?<\/pre>/gs, "")).not.toMatch(/km\/h|\u202f/);
  const [asked, plain] = [join(folder, "mph.csv"), join(folder, "kmh.csv")];
  await gripbook("export", "2", "--book", book, "--as", "csv", "--out", asked, "--units", "mph", "--units-row");
  await gripbook("export", "2", "--book", book, "--as", "csv", "--out", plain, "--units-row");
  const rows = (file: string) =>
    readFileSync(file, "utf8")
      .split("\r\n")
      .map((row) => row.split(","));
  const [names = [], units = [], ...values] = rows(asked);
  const [before = [], , ...as] = rows(plain);
  expect(names.slice(1, 4)).toEqual(["groundSpeedMph", "wheelSpeedMph", "slipSpeedMph"]);
  expect(units.slice(0, 4)).toEqual(["s", "mph", "mph", "mph"]);
  const [ground, distance] = [names.indexOf("groundSpeedMph"), names.indexOf("distanceFt")];
  expect(units[distance]).toBe("ft");
  for (const row of [250, 400, 600]) {
    expect(Number(values[row]?.[ground])).toBeCloseTo(Number(as[row]?.[before.indexOf("groundSpeedKmh")]) * MPH, 5);
    expect(Number(values[row]?.[distance])).toBeCloseTo(Number(as[row]?.[before.indexOf("distanceM")]) / 0.3048, 5);
  }
});

test("a format that has units of its own says so, and is written", async () => {
  const file = join(folder, "runs.csv");
  const { code, err } = await gripbook("export", "all", "--book", book, "--as", "runs", "--out", file, "--units", "mph");
  expect(code).toBe(0);
  expect(err).toMatch(/^--units changes a run's CSV alone/);
  expect((await gripbook("export", "2", "--book", book, "--as", "csv", "--out", join(folder, "quiet.csv"), "--units", "mph")).err).toBe("");
});

test("other units are refused in one line", async () => {
  const { code, err } = await gripbook("show", "1", "--book", book, "--units", "knots");
  expect(code).toBe(2);
  expect(err).toBe('Expected --units with km/h or mph, got "knots"\n');
});
