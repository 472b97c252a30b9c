/** Logs as people really have them (docs/design.md, `import`): comments, a last line cut off by a kill, a receiver without checksums. Sentences: NMEA.adoc of gpsd. */
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { drain } from "../../../../src/shared/kernel/drain.ts";
import { readLogSteps } from "../../../../src/main/adapters/logs/log-packets.ts";

const BUS = "(1484006000.000500) t4563112233\n(1484006000.010500) t4563112233\n";
const VTG = "$GPVTG,220.86,T,,M,2.550,N,4.724,K,A*34";
const RECEIVER = `# a comment of the person who kept it\n(1484006000.100000) ${VTG}\n# another\n(1484006000.200000) ${VTG}\n`;

let folder = "";
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-logs-"));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

function read(bus: string, receiver: string) {
  const [canFile, gnssFile] = [join(folder, "bus"), join(folder, "receiver")];
  writeFileSync(canFile, bus);
  writeFileSync(gnssFile, receiver);
  const notes: string[] = [];
  const { packets } = drain(readLogSteps({ canFile, canFormat: "slcan", gnssFile, onNote: (line) => notes.push(line) }));
  const texts = [...packets].map(({ stream, arrivalNs, bytes }) => [stream, arrivalNs / 1e6, Buffer.from(bytes).toString("latin1")]);
  return { texts, notes };
}

const WHOLE = [
  ["can", 0.5, "t4563112233\r"],
  ["can", 10.5, "t4563112233\r"],
  ["gnss", 100, `${VTG}\r\n`],
  ["gnss", 200, `${VTG}\r\n`],
];

test("comments are passed over wherever they stand", () => {
  expect(read(BUS, RECEIVER)).toEqual({ texts: WHOLE, notes: [] });
});

test("a last line cut off within its stamp is left out, and told with its number", () => {
  const { texts, notes } = read(`${BUS}(14840`, RECEIVER);
  expect(texts).toEqual(WHOLE);
  expect(notes).toHaveLength(1);
  expect(notes[0]).toMatch(/bus: its last line is cut off and was left out \(line 3/);
});

test("stamps that fall back are told once, with line and remedy", () => {
  const { texts, notes } = read(`${BUS}${BUS.replaceAll("14840060", "14840024")}`, RECEIVER);
  expect(texts.filter(([stream]) => stream === "can").map(([, atMs]) => atMs)).toEqual([0.5, 10.5, 10.5, 10.5]);
  expect(notes).toHaveLength(1);
  expect(notes[0]).toMatch(/bus: line 3: its stamp falls back by 3600\.0 s; .*cut the log there/);
});

test("a stamp cut off within a log names the line and ends there", () => {
  expect(() => read(`${BUS}(14840\n${BUS}`, RECEIVER)).toThrow(/bus: line 3: expected an arrival stamp/);
});

test("sentences without their checksum are not believed, and that is said", () => {
  const { notes } = read(BUS, RECEIVER.replaceAll("*34", ""));
  expect(notes).toHaveLength(1);
  expect(notes[0]).toMatch(/receiver: 2 sentences lack their checksum/);
});

test("logs an hour or a day apart are refused with both their times; half apart, they are told", () => {
  const later = (s: number) => RECEIVER.replace(/\(1484006000/g, `(${1484006000 + s}`);
  expect(() => read(BUS, later(3600))).toThrow(
    /bus runs from 2017-01-09 23:53:20 to .* they share no moment, their beginnings are 1\.00 h apart\. Name the logs of one drive; where one clock was wrong by an hour/,
  );
  expect(() => read(BUS, later(-86_400))).toThrow(/they share no moment, their beginnings are 1\.00 d apart/);
  const long = (firstS: number) => Array.from({ length: 101 }, (_, k) => `(${1484006000 + firstS + k}.000000) ${VTG}\n`).join("");
  const bus = Array.from({ length: 101 }, (_, k) => `(${1484006000 + k}.000000) t4563112233\n`).join("");
  expect(read(bus, long(80)).notes).toEqual([
    expect.stringMatching(/only 20\.0 s of them are of the same time, their beginnings are 80\.0 s apart/),
  ]);
  expect(read(bus, long(20)).notes).toEqual([]);
});

test("a byte order mark before the first line is no part of it (RFC 3629, section 6)", () => {
  expect(read(`\ufeff${BUS}`, `\ufeff${RECEIVER.slice(RECEIVER.indexOf("("))}`)).toEqual({ texts: WHOLE, notes: [] });
});

test("an empty receiver log is said to be empty; an empty bus log leaves the receiver alone", () => {
  expect(() => read(BUS, "# nothing\n")).toThrow(/receiver: holds no line; without the receiver nothing can be timed: name the log/);
  expect(read("", RECEIVER).notes).toEqual([expect.stringMatching(/bus: holds no line; times rest on the receiver alone/)]);
});

test("a stamp beyond any test day, or days ahead of its neighbours, names its line before anything is given", () => {
  expect(() => read(`${BUS}(999999999999.000000) t4563112233\n`, RECEIVER)).toThrow(
    /bus: line 3: its stamp, 999999999999 s, lies beyond the year 2100/,
  );
  expect(() => read(`${BUS}(1484524400.000000) t4563112233\n`, RECEIVER)).toThrow(
    /bus: line 3: its stamp lies 6\.0 days after the line before; correct that line, or cut/,
  );
});
