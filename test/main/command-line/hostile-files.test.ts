/**
 * A path may lead to anything: another person's secrets, a pipe that never sends, a device that never ends, a name that controls the
 * terminal. Nothing of a foreign file is shown, nothing blocks, and every message is one line. Control characters: ECMA-48; log forging:
 * CWE-117; marks that change the reading order: Unicode Standard Annex 9.
 */
import { spawnSync } from "node:child_process";
import { mkdtempSync, rmSync, truncateSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { carSetUp, carSignalFile } from "../../../src/shared/simulation/car-files.ts";
import { addTimedRuns, WORKED_EXAMPLE } from "../../support/timed-book.ts";
import { startGripbook } from "../../support/run-gripbook.ts";

let folder = "";
const at = (name: string) => join(folder, name);
const SECRET = "hunter2horse";
const setUp = carSetUp({ frontWheelSensors: true, rearWheelSensors: true, stamps: true });
/** Longer than any line that is said. */
const LONG = 2_500;
const MAKE_PIPE = "mkfifo";
// biome-ignore lint/suspicious/noControlCharactersInRegex: they are what is looked for.
const UNSEEN = /[\u0000-\u0009\u000b-\u001f\u007f-\u009f\u2028-\u202e\u2066-\u2069]/;

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-hostile-"));
  writeFileSync(at("secret"), `${SECRET}:x:0:0\n(${SECRET}) more\n`);
  writeFileSync(at("stamped-secret"), `(${SECRET}) more\n`);
  writeFileSync(at("secret.json"), `{"car": ${SECRET}}`);
  writeFileSync(at("setup.json"), JSON.stringify({ ...setUp, database: "secret" }));
  writeFileSync(at("good.json"), JSON.stringify(setUp));
  writeFileSync(at("car.dbc"), carSignalFile());
  writeFileSync(at("zero.json"), JSON.stringify({ ...setUp, database: "/dev/zero" }));
  writeFileSync(at("big.dbc"), 'VERSION ""\n');
  truncateSync(at("big.dbc"), 200_000_000);
  addTimedRuns(at("day.gripbook"), WORKED_EXAMPLE);
  if (spawnSync(MAKE_PIPE, [at("fifo")]).status !== 0) throw new Error("mkfifo is needed (coreutils)");
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** A command that waits for a pipe would never end: it is killed, and its exit code is then null. */
async function said(...given: string[]): Promise<{ readonly code: number | null; readonly err: string }> {
  const { child, ended } = startGripbook(...given.map((word) => (word.startsWith("@") ? at(word.slice(1)) : word)));
  const timer = setTimeout(() => child.kill("SIGKILL"), 120_000);
  const { code, err } = await ended;
  clearTimeout(timer);
  expect(err.trim().split("\n").length, err.slice(0, 4000)).toBe(1);
  expect(err.length).toBeLessThan(LONG);
  expect(err).not.toMatch(UNSEEN);
  return { code, err };
}

const importing = (setup: string, can = "@secret", gnss = "@secret") => [
  "import",
  "--setup",
  setup,
  "--book",
  "@new.gripbook",
  "--slcan",
  can,
  "--gnss",
  gnss,
];

describe("nothing of a file that is none of ours is shown", () => {
  test.each([
    ["a signal file", ["decode", "--dbc", "@secret"]],
    ["a signal file that a set-up names", importing("@setup.json")],
    ["a set-up", importing("@secret")],
    ["a set-up that is nearly JSON", importing("@secret.json")],
    ["a log", importing("@good.json")],
    ["a log that begins as one", importing("@good.json", "@stamped-secret")],
    ["a test plan", ["plan", "--book", "@day.gripbook", "--set", "@secret.json"]],
    ["a plan of the simulated car", ["simulate", "--out", "@day", "--plan", "@secret.json"]],
    ["a book", ["runs", "--book", "@secret"]],
  ])("%s", async (_what, given) => {
    const { code, err } = await said(...given);
    expect(err).not.toContain(SECRET.slice(0, 4));
    expect(code).toBe(2);
  });
});

describe("a pipe, a device and a folder are no files, and nothing waits for them", () => {
  test.each(["@fifo", "/dev/zero", "@"])("%s", async (file) => {
    for (const given of [
      ["decode", "--dbc", file],
      importing(file),
      importing("@good.json", file),
      ["plan", "--book", "@day.gripbook", "--set", file],
      ["simulate", "--out", "@day", "--plan", file],
      ["conditions", "1", "--book", "@day.gripbook", "--file", file],
    ]) {
      const { code, err } = await said(...given);
      expect(err).toMatch(/a folder, not a file|no plain file/);
      expect(code).toBe(2);
    }
  });

  test("nor where a set-up names one as its signal file", async () => {
    expect((await said(...importing("@zero.json"))).err).toMatch(/Signal file .*\/dev\/zero: no plain file/);
  });

  test("a signal file beyond any that a car has is not read", async () => {
    expect((await said("decode", "--dbc", "@big.dbc")).err).toMatch(/big\.dbc: has 200\.0 MB; expected at most 16 MB/);
  });
});

describe("one line, whatever a name holds", () => {
  const paint = "\u001b[2J\u001b]0;pwned\u0007 \u202egnp \u2028 \u009b31m";
  test("of a file", async () => {
    expect((await said("runs", "--book", `@a\nOK: all is well\n${paint}`)).err).toMatch(/not found or not readable/);
    expect((await said("decode", "--dbc", `@${"x\n".repeat(90)}`)).err).toMatch(/check the path/);
  });
  test("of a command and an option", async () => {
    await said(`measure\n${paint}`);
    await said("runs", "--book", "@day.gripbook", `--bo\n${paint}`);
  });
  test("in a signal file: painted, broken over lines, and 7 MB long", async () => {
    writeFileSync(at("long.dbc"), `BO_ 1 ${"N".repeat(7_000_000)}: 8 ECU\n SG_ ${"S".repeat(7_000_000)} : 0|99@1+ (1,0) [0|0] "" ECU\n`);
    const { err } = await said("decode", "--dbc", "@long.dbc");
    expect(err).toMatch(/long\.dbc:1: expected a message name of at most 300 letters, got 7000000/);
    writeFileSync(at("paint.dbc"), `BO_ 1 A\u001b[2J\u009b31m\u202e: 8 ECU\n SG_ S\u0007 : 0|99@1+ (1,0) [0|0] "" ECU\n`);
    expect((await said("decode", "--dbc", "@paint.dbc")).err).toMatch(/expected a start bit|expected/);
  });
  test("in a book: the list of runs stays a list", async () => {
    addTimedRuns(at("painted.gripbook"), [{ label: `off ${paint}\nRun 99: 0.001 s`, seconds: 5 }]);
    const { child, ended } = startGripbook("runs", "--book", at("painted.gripbook"));
    const { out } = await ended;
    expect(child.exitCode).toBe(0);
    expect(out).not.toMatch(UNSEEN);
    expect(out.trim().split("\n")).toHaveLength(1);
  });
});
