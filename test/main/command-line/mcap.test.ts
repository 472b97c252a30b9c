/**
 * `export --as mcap`: read back by @mcap/core's own reader and by one that follows the specification alone (mcap.dev/spec; test/support/mcap-records.ts).
 * Numbers are compared with the CSV of the same run, as texts; the messages with their JSON Schema by Ajv.
 */
import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { zstdDecompressSync } from "node:zlib";
import { McapIndexedReader } from "@mcap/core";
import { Ajv } from "ajv";
import { afterAll, beforeAll, expect, test } from "vitest";
import type { RunView } from "../../../src/shared/contract/contract.ts";
import { type ReadMcap, readMcap } from "../../support/mcap-records.ts";
import { gripbook, gripbookJson, startGripbook } from "../../support/run-gripbook.ts";
import { addTimedRuns, type TimedRun } from "../../support/timed-book.ts";

const SHORT_DAY = {
  segments: [
    { kind: "gentle", seconds: 45 },
    { kind: "launch", toKmh: 105, standS: 3, label: "traction control off", tractionControl: false },
    { kind: "launch", toKmh: 105, standS: 3 },
    { kind: "stand", seconds: 4 },
  ],
};
const TIMED: readonly TimedRun[] = [
  { label: "off", seconds: 5, noted: [{ atS: 2.5, text: "wheel hop" }] },
  { label: "=on", seconds: 4.5, undated: true },
];

let folder = "";
let read: ReadMcap;
const at = (name: string) => join(folder, name);
const book = () => at("short.gripbook");
const mcap = (name: string, of = book(), ...more: string[]) =>
  ["export", "all", "--book", of, "--as", "mcap", "--out", at(name), ...more] as const;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-mcap-"));
  writeFileSync(at("plan.json"), JSON.stringify(SHORT_DAY));
  await gripbookJson("simulate", "--out", at("short"), "--seed", "6", "--plan", at("plan.json"));
  const logs = ["--slcan", at("short/bus.slcan"), "--gnss", at("short/receiver.nmea")];
  await gripbookJson("import", "--setup", at("short/setup.json"), "--book", book(), ...logs);
  await gripbookJson("conditions", "2", "surface=damp", "--book", book());
  await gripbookJson("export", "all", "--book", book(), "--as", "csv", "--out", at("csv"));
  expect(await gripbookJson(...mcap("short.mcap"))).toEqual({ files: [at("short.mcap")] });
  read = readMcap(readFileSync(at("short.mcap")));
  addTimedRuns(at("timed.gripbook"), TIMED);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** Header and rows of a run's CSV, whose last column is empty here: nothing was noted, and no field is quoted. */
function csvOf(run: number): { names: string[]; rows: string[][] } {
  const [names, ...rows] = readFileSync(at(`csv/run-${run}.csv`), "utf8")
    .trimEnd()
    .split("\r\n")
    .map((line) => line.split(","));
  return { names: names?.map((name) => name.replaceAll(".", "_")) ?? [], rows };
}

test.each([1, 2])("run %i: every row and digit of its CSV, what is empty there is absent, at its UTC", async (run) => {
  const { names, rows } = csvOf(run);
  const { startedAt } = (await gripbookJson<RunView>("show", String(run), "--book", book())).run;
  const messages = read.messages.filter(({ topic }) => topic === `/runs/${run}`);
  expect(messages).toHaveLength(rows.length);
  for (const [i, row] of rows.entries()) {
    // The digits as they are written: JSON.parse would hide how many there are.
    const told = Object.fromEntries(
      messages[i]!.text.slice(1, -1)
        .split(",")
        .map((pair) => pair.split(":")),
    ) as Record<string, string>;
    expect(told).toEqual(Object.fromEntries(row.flatMap((field, c) => (field === "" ? [] : [[`"${names[c]}"`, field]]))));
    // `show` prints whole milliseconds, and the CSV microseconds.
    const apartMs = Number(messages[i]!.logTime) / 1e6 - (Date.parse(startedAt as string) + Number(row[0]) * 1000);
    expect(Math.abs(apartMs)).toBeLessThan(1.01);
  }
  const steps = new Set(messages.slice(1).map(({ logTime }, i) => logTime - messages[i]!.logTime));
  expect([...steps]).toEqual([10_000_000n]);
});

test("@mcap/core's reader finds the same by the index, in order of time, in more than one chunk", async () => {
  const bytes = readFileSync(at("short.mcap"));
  const readable = {
    size: async () => BigInt(bytes.length),
    read: async (from: bigint, size: bigint) => new Uint8Array(bytes.subarray(Number(from), Number(from + size))),
  };
  const reader = await McapIndexedReader.Initialize({ readable, decompressHandlers: { zstd: (chunk) => zstdDecompressSync(chunk) } });
  const found = [];
  for await (const { channelId, logTime, data } of reader.readMessages({ validateCrcs: true }))
    found.push({ topic: reader.channelsById.get(channelId)?.topic, logTime, text: Buffer.from(data).toString() });
  expect(found).toEqual(read.messages);
  expect(reader.statistics).toMatchObject({
    messageCount: BigInt(read.messages.length),
    channelCount: 2,
    schemaCount: 1,
    metadataCount: 2,
  });
  expect(read.chunks).toBeGreaterThan(1);
  expect(reader.chunkIndexes.map(({ compression }) => compression)).toEqual(new Array(read.chunks).fill("zstd"));
  const facts = new Map<string, ReadonlyMap<string, string>>();
  for await (const { name, metadata } of reader.readMetadata()) facts.set(name, metadata);
  expect(facts).toEqual(read.metadata);
});

test("the schema names every column with its unit, and each message holds to it", () => {
  const [schema] = [...read.schemas.values()];
  expect(schema).toMatchObject({ name: "gripbook.moment", encoding: "jsonschema" });
  expect([...read.channels.values()].map(({ topic, encoding }) => [topic, encoding])).toEqual([
    ["/runs/1", "json"],
    ["/runs/2", "json"],
  ]);
  const { properties } = JSON.parse(schema!.text) as { properties: Record<string, { description: string }> };
  const beside: { titles: string; "schema:unitText"?: string }[] = JSON.parse(readFileSync(at("csv/csv-metadata.json"), "utf8")).tableSchema
    .columns;
  expect(Object.keys(properties)).toEqual(beside.map(({ titles }) => titles.replaceAll(".", "_")));
  for (const { titles, "schema:unitText": unit = "1" } of beside.filter((column) => column.titles !== "noted"))
    expect(properties[titles.replaceAll(".", "_")]?.description).toContain(`[${unit}]`);
  const holds = new Ajv().compile({ ...JSON.parse(schema!.text), additionalProperties: false });
  for (const { text } of read.messages) expect(holds(JSON.parse(text)), text).toBe(true);
});

test("what `show` says of a run is its metadata: label, conditions, gates with their intervals, flags", async () => {
  const view = await gripbookJson<RunView>("show", "2", "--book", book());
  const facts = read.metadata.get("/runs/2") as ReadonlyMap<string, string>;
  const parsed = (key: string) => JSON.parse(facts.get(key) as string);
  expect(facts.get("label")).toBe(view.run.label);
  expect(facts.get("startedAt")).toBe(view.run.startedAt);
  expect(facts.get("car")).toBe("Odrel");
  expect(facts.get("inUse")).toBe("true");
  expect(parsed("conditions")).toEqual({ surface: "damp" });
  for (const key of ["gates", "slip", "moments", "calibration"] as const) expect(parsed(key)).toEqual(view[key]);
  for (const key of ["flags", "measured"] as const) expect(parsed(key)).toEqual(view.run[key]);
});

test("without a date of the receiver's the clock of the recording counts, and the run says so; notes stand at their time", async () => {
  await gripbookJson(...mcap("timed.mcap", at("timed.gripbook")));
  const timed = readMcap(readFileSync(at("timed.mcap")));
  const firstOf = (topic: string) => timed.messages.find((message) => message.topic === topic)?.logTime;
  // The book's recording begins at 10:00, run 2 starts 300 s later, and a run's rows begin 2 s before its start.
  expect(firstOf("/runs/2")).toBe(BigInt(Date.UTC(2031, 4, 4, 10) + 298_000) * 1_000_000n);
  expect(timed.metadata.get("/runs/2")?.has("startedAt")).toBe(false);
  expect(timed.metadata.get("/runs/1")?.has("startedAt")).toBe(true);
  const noted = timed.messages.filter(({ text }) => text.includes('"noted"')).map(({ text }) => JSON.parse(text));
  expect(noted.map(({ timeS, noted: words }) => [timeS, words])).toEqual([[2.5, "wheel hop"]]);
  // A label is no cell of a spreadsheet here.
  expect(timed.metadata.get("/runs/2")?.get("label")).toBe("=on");
});

test("a file that is there gives way to --force alone, a book never; an empty book and a wrong number write nothing", async () => {
  writeFileSync(at("mine.mcap"), "mine");
  const refused = await gripbook(...mcap("mine.mcap"));
  expect(refused).toMatchObject({ code: 2, out: "" });
  expect(refused.err.trim()).toMatch(/^[^\n]*mine\.mcap is there already: name another file, or add --force$/);
  expect(readFileSync(at("mine.mcap"), "utf8")).toBe("mine");
  expect((await gripbook(...mcap("mine.mcap", book(), "--force"))).code).toBe(0);
  expect(readFileSync(at("mine.mcap")).equals(readFileSync(at("short.mcap")))).toBe(true);
  expect((await gripbook(...mcap("timed.gripbook", book(), "--force"))).err).toMatch(/is a book: name another file/);
  const wrong = await gripbook("export", "1-9", "--book", book(), "--as", "mcap", "--out", at("wrong.mcap"));
  expect(wrong.code).toBe(2);
  expect(wrong.err.trim().split("\n")).toHaveLength(1);
  addTimedRuns(at("none.gripbook"), []);
  expect((await gripbook(...mcap("none.mcap", at("none.gripbook")))).out).toBe("Nothing to export in this book.\n");
  for (const name of ["wrong.mcap", "none.mcap"]) expect(existsSync(at(name))).toBe(false);
});

test("Ctrl-C ends it in one line, and leaves nothing", async () => {
  addTimedRuns(
    at("many.gripbook"),
    Array.from({ length: 400 }, () => ({ label: "on", seconds: 9 })),
  );
  mkdirSync(at("stopped"));
  const { child, ended } = startGripbook(...mcap("stopped/many.mcap", at("many.gripbook")));
  await expect.poll(() => readdirSync(at("stopped")).length, { interval: 5 }).toBe(1);
  child.kill("SIGINT");
  expect(await ended).toEqual({ code: 2, out: "", err: "Stopped: nothing was written\n" });
  expect(readdirSync(at("stopped"))).toEqual([]);
});
