/** Every bad input gives one line on stderr that names the place, nothing on stdout, and exit code 2 (docs/design.md, command line). */
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { openSqliteBook } from "../../../src/main/adapters/sqlite/sqlite-book.ts";
import { carSetUp, carSignalFile } from "../../../src/shared/simulation/car-files.ts";
import { gripbook } from "../../support/run-gripbook.ts";

let folder = "";
const inFolder = (name: string) => join(folder, name);
const setUp = carSetUp({ frontWheelSensors: true, rearWheelSensors: true, stamps: true });
const write = (name: string, text: string) => writeFileSync(inFolder(name), text);

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
  write("setup.json", JSON.stringify(setUp));
  write("car.dbc", carSignalFile());
  write("torn.json", '{"car": ');
  write("key.json", JSON.stringify({ ...setUp, colour: "red" }));
  write("mass.json", JSON.stringify({ ...setUp, car: { ...setUp.car, massKg: -5 } }));
  write("signal.json", JSON.stringify({ ...setUp, signals: { ...setUp.signals, pedal: "DriverInputs.PedalPositon" } }));
  write("no-dbc.json", JSON.stringify({ ...setUp, database: "lost.dbc" }));
  write("bad-dbc.json", JSON.stringify({ ...setUp, database: "torn.dbc" }));
  write("torn.dbc", 'VERSION ""\n\nBO_ 288 DriverInputs: 8 Body\n SG_ Pedal : 0|\n');
  write("no-source.json", JSON.stringify({ ...setUp, sources: {} }));
  write("unstamped.slcan", "t1232AABB\n");
  write("bad-stamp.slcan", "(12:30) t1232AABB\n");
  write("good.slcan", "(1936000000.000000) t1232AABB\n");
  write("candump.log", "(1936000000.000000) can0 123#AABB\n");
  write("undated.nmea", "$GPGGA,092725.00,4717.11399,N,00833.91590,E,1,08,1.01,499.6,M,48.0,M,,*5B\n");
  write("good.nmea", "(1936000000.000000) $GPVTG,77.52,T,,M,0.004,N,0.008,K,A*06\n");
  write("text.gripbook", "no book at all, only some words that go on for a while so that they fill a page or more of it ".repeat(20));
  openSqliteBook({ file: inFolder("empty.gripbook"), create: true }).close();
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const importing = (setup: string, can = "good.slcan", gnss = "good.nmea") => [
  "import",
  "--setup",
  `@${setup}`,
  "--book",
  "@new.gripbook",
  "--slcan",
  `@${can}`,
  "--gnss",
  `@${gnss}`,
];

test.each<[what: string, given: string[], said: RegExp]>([
  ["no such command", ["measure"], /unknown command 'measure'/],
  ["a missing option", ["runs"], /required option '--book <file>' not specified/],
  ["an unknown option", ["runs", "--book", "@empty.gripbook", "--books", "x"], /unknown option '--books'/],
  [
    "a needed option that is mistyped",
    ["runs", "--boook", "@empty.gripbook"],
    /unknown option '--boook', and required option '--book <file>' not specified/,
  ],
  [
    "the second needed option mistyped",
    ["report", "--book", "@empty.gripbook", "--outt", "@x.html"],
    /unknown option '--outt', and required option '--out <file>' not specified/,
  ],
  ["a missing book", ["runs", "--book", "@none.gripbook"], /none\.gripbook: not found/],
  ["a book that is none", ["runs", "--book", "@text.gripbook"], /text\.gripbook: no SQLite file/],
  ["a run that is not there", ["show", "7", "--book", "@empty.gripbook"], /^Run 7 is not in this book; `runs` lists/],
  [
    "a run that is no number",
    ["show", "first", "--book", "@empty.gripbook"],
    /Expected a run's number, or several as in 1-12,15, got "first"/,
  ],
  [
    "an unknown format",
    ["export", "all", "--book", "@empty.gripbook", "--as", "xls", "--out", "@x"],
    /Expected --as with csv, candump, slcan, nmea, parquet, mcap, runs, got "xls"/,
  ],
  ["a condition without a value", ["conditions", "1", "surface", "--book", "@empty.gripbook"], /Expected KEY=VALUE/],
  [
    "a review that is neither",
    ["review", "1", "--use", "maybe", "--note", "x", "--book", "@empty.gripbook"],
    /Expected --use yes or --use no/,
  ],
  ["a missing set-up", importing("none.json"), /Set-up .*none\.json: not found/],
  ["a torn set-up", importing("torn.json"), /Set-up .*torn\.json: no JSON/],
  ["an unknown key", importing("key.json"), /key\.json: unknown key "colour"/],
  ["an impossible value", importing("mass.json"), /mass\.json: car\.massKg: expected a mass in kg from 100 to 10000, got -5/],
  ["an unknown signal", importing("signal.json"), /signal\.json: signals\.pedal: .*DriverInputs\.PedalPositon.*/],
  ["a missing signal file", importing("no-dbc.json"), /Signal file .*lost\.dbc: not found/],
  ["a broken signal file", importing("bad-dbc.json"), /torn\.dbc:\d+: expected/],
  ["a missing log", importing("setup.json", "none.slcan"), /Log .*none\.slcan: not found/],
  ["a bus log without stamps", importing("setup.json", "unstamped.slcan"), /unstamped\.slcan: line 1 has no arrival stamp/],
  ["a log with a stamp that is none", importing("setup.json", "bad-stamp.slcan"), /bad-stamp\.slcan: line 1: expected an arrival stamp/],
  [
    "a candump log given as --slcan",
    importing("setup.json", "candump.log"),
    /candump\.log: given as --slcan, but its lines are candump frames; give it as --can/,
  ],
  [
    "a receiver log given as --slcan",
    importing("setup.json", "good.nmea"),
    /good\.nmea: given as --slcan, but its lines are NMEA sentences; give it as --gnss/,
  ],
  [
    "a bus log given as --gnss",
    importing("setup.json", "good.slcan", "good.slcan"),
    /good\.slcan: given as --gnss, but its lines are SLCAN frames; give it as --slcan/,
  ],
  [
    "a folder that cannot be made",
    ["simulate", "--out", "@text.gripbook/day"],
    /Folder .*text\.gripbook: a file of that name is there already/,
  ],
  [
    "a receiver log without stamp or date",
    importing("setup.json", "good.slcan", "undated.nmea"),
    /undated\.nmea: line 1 has no arrival stamp and no dated sentence/,
  ],
  ["both kinds of bus log", [...importing("setup.json"), "--can", "@good.slcan"], /Expected either --can LOG or --slcan LOG/],
  ["a capture without sources", ["capture", "--setup", "@no-source.json", "--book", "@new.gripbook", "--seconds", "1"], /names no source/],
  [
    "a capture of no seconds",
    ["capture", "--setup", "@setup.json", "--book", "@new.gripbook", "--seconds", "soon"],
    /Expected --seconds with a number over 0, got "soon"/,
  ],
  ["a seed that is none", ["simulate", "--out", "@sim", "--seed", "x"], /Expected --seed with a whole number/],
  ["a signal file that is not there", ["decode", "--dbc", "@none.dbc"], /Signal file .*none\.dbc: not found/],
])("%s: one line, exit 2", async (_what, given, said) => {
  const { code, out, err } = await gripbook(...given.map((word) => (word.startsWith("@") ? inFolder(word.slice(1)) : word)));
  expect(err.trim()).toMatch(said);
  expect(err.trim().split("\n")).toHaveLength(1);
  expect(out).toBe("");
  expect(code).toBe(2);
});

test("a capture whose ports are missing says so for each, and that nothing was recorded: exit 1", async () => {
  write(
    "ports.json",
    JSON.stringify({
      ...setUp,
      sources: { gnss: { port: "/dev/gripbook-a", baud: 9600 }, can: { port: "/dev/gripbook-b", baud: 115200, bitrate: 500000 } },
    }),
  );
  const { code, err } = await gripbook(
    "capture",
    "--setup",
    inFolder("ports.json"),
    "--book",
    inFolder("new.gripbook"),
    "--seconds",
    "0.5",
  );
  expect(code).toBe(1);
  expect(err).toMatch(/Receiver: port \/dev\/gripbook-a is not there: plug the device in, or correct sources\.gnss\.port/);
  expect(err).toMatch(/CAN adapter: port \/dev\/gripbook-b is not there/);
  expect(err.trim().split("\n").at(-1)).toMatch(/^Nothing was recorded: /);
});
