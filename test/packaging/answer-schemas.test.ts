/**
 * Every command's answer about the simulated day holds to its own JSON Schema of docs/schema/answers, by an independent validator (Ajv). Every other test that asks the command line for JSON holds its answer against them too (run-gripbook.ts).
 */
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { answerSchemas } from "../../packaging/answer-schemas.ts";
import { answerFault } from "../support/answer-schemas.ts";
import { gripbookJson, gripbookJsonAlone } from "../support/run-gripbook.ts";

const [OFF, ON] = ["traction control off", "traction control on"];
/** Three launches of each setting, in turn: a quarter of the simulated day, with all that a command can say of it. */
const launch = (label: string, more: object) => ({ kind: "launch", toKmh: 105, standS: 3, label, rampS: 0.1, ...more });
const turn = [{ kind: "drive", metres: 200, kmh: 50 }, { kind: "turn" }];
const both = [launch(OFF, { tractionControl: false }), ...turn, launch(ON, { control: { slip: 0.08 } }), ...turn];
const DAY = { segments: [{ kind: "gentle", seconds: 60 }, ...both, ...both, ...both, { kind: "stand", seconds: 4 }] };
const PLAN = { groups: [OFF, ON], runsPerGroup: 4, usableLengthM: 400, directions: 2, wet: false };
/** It needs devices; capture.test.ts has its answer checked. */
const ELSEWHERE = ["capture"];

let folder = "";
const at = (name: string) => join(folder, name);
const asked = new Set<string>();
/** The compiler reads all of the source for them. */
const given = answerSchemas();

/** Throws where an answer is not what its schema says. Each command is asked once in a process of its own, as people run it. */
async function ask<T>(command: string, ...given: string[]): Promise<T> {
  const answer = await (asked.has(command) ? gripbookJson : gripbookJsonAlone)<T>(command, ...given);
  asked.add(command);
  return answer;
}

const ofDay = <T>(command: string, ...given: string[]) => ask<T>(command, ...given, "--book", at("day.gripbook"));

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-answers-"));
  writeFileSync(at("day-plan.json"), JSON.stringify(DAY));
  await ask("simulate", "--out", at("day"), "--plan", at("day-plan.json"));
  const logs = ["--slcan", at("day/bus.slcan"), "--gnss", at("day/receiver.nmea")];
  await ofDay("import", "--setup", at("day/setup.json"), ...logs);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

test("what reads the day answers as its schema says", async () => {
  await ask("ports");
  await ofDay("runs");
  for (const runs of ["1", "all"]) await ofDay("show", runs);
  await ofDay("plan");
  await ofDay("gates");
  await ofDay("compare", "--a", OFF, "--b", ON);
  await ofDay("response");
  await ofDay("advise");
  await ofDay("predict", "--group", ON, "--slip", "0.11");
  await ofDay("notice");
  await ofDay("check");
});

test("what writes files answers as its schema says", async () => {
  await ofDay("copy", "--out", at("copy.gripbook"));
  for (const as of ["csv", "runs", "mcap", "nmea", "parquet"]) await ofDay("export", "1-2", "--as", as, "--out", at(`as-${as}`));
  await ofDay("table", "--out", at("table.csv"));
  await ofDay("report", "--out", at("day.html"));
  await ofDay("happened", "--out", at("happened.txt"));
  expect(await ask("completion")).toMatchObject({ shell: "bash" });
});

test("what changes the book answers as its schema says, and so does what is asked then", async () => {
  writeFileSync(at("plan.json"), JSON.stringify(PLAN));
  // The labels as they were when it was written.
  await ofDay("table", "--in", at("table.csv"));
  await ofDay("label", "1-2", "off, later");
  await ofDay("conditions", "1-3", "slip target=8 %", "surface=wet");
  await ofDay("conditions", "4-6", "slip target=12 %");
  await ofDay("review", "3", "--use", "no", "--note", "a gust");
  await ofDay("plan", "--set", at("plan.json"));
  await ofDay("compare", "--group", OFF, ON, "off, later", "--by", "none");
  await ofDay("response");
  await ofDay("gates", "--add", "20-80", "--from", "20 km/h", "--to", "80 km/h");
  const screening = ["--level", "gain=1..3", "slip=6..10 %", "--usable-length", "400", "--directions", "2"];
  await ask("response", "--book", at("screened.gripbook"), "--draw", "screening", ...screening);
  await ask("merge", at("day.gripbook"), "--book", at("screened.gripbook"));
  await ask("rederive", "--book", at("screened.gripbook"));
});

test("no command was left out", () => {
  expect([...asked, ...ELSEWHERE].sort()).toEqual(Object.keys(given).sort());
});

test("the check bites: a key more or less, a text for a number, a flag that nobody knows, a list for one", async () => {
  const view = await ofDay<Record<string, unknown>>("show", "1");
  const run = view.run as Record<string, unknown>;
  expect(answerFault("show", view)).toBeNull();
  const wrong = [
    { ...view, colour: "red" },
    { ...view, gates: undefined },
    { ...view, run: { ...run, id: "1" } },
    { ...view, run: { ...run, flags: [{ flag: "haste", why: "" }] } },
    [[view]],
  ];
  for (const answer of wrong) expect(answerFault("show", JSON.parse(JSON.stringify(answer)))).toMatch(/^gripbook show --json: /);
});
