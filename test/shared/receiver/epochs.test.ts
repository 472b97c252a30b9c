/** Receiver epochs against gpsd's captures, gpsdecode run live on the same bytes, and published checksum examples. */
import { spawnSync } from "node:child_process";
import { existsSync, readFileSync } from "node:fs";
import fc from "fast-check";
import { parseNmeaSentence } from "nmea-simple";
import { describe, expect, test } from "vitest";
import { createNmeaScanner } from "../../../src/shared/receiver/nmea-sentence.ts";
import { createEpochAssembler, type EpochLine, epochLine } from "../../../src/shared/receiver/epoch-assembler.ts";
import type { Epoch } from "../../../src/shared/receiver/epoch-draft.ts";
import { createEpochTrackBuilder } from "../../../src/shared/receiver/epoch-track-builder.ts";
import { nmeaSentence } from "../../support/nmea.ts";
import { ascii, capturePath, pushInPieces, referencePath } from "../frames/pieces.ts";

function assemble(bytes: Uint8Array, cuts: readonly number[] = [1e9]) {
  const assembler = createEpochAssembler();
  const epochs: Epoch[] = [];
  pushInPieces(bytes, cuts, (part) => assembler.push(part, 0, (epoch) => epochs.push(epoch)));
  assembler.flush((epoch) => epochs.push(epoch));
  return { epochs, lines: epochs.map(epochLine), sentences: assembler.sentences, counts: assembler.counts };
}

const told = (...bodies: string[]) => assemble(ascii(bodies.map(nmeaSentence).join("")));
const capture = (name: string) => assemble(readFileSync(capturePath(name)));

// Facts of docs/check-values.md, NMEA 0183, counted there from the captures themselves.
test.each([
  ["nmea-rtk.log", { sentences: 244, badChecksums: 0 }, 122],
  ["bt451.log", { sentences: 144, badChecksums: 0 }, null],
  ["polarx2.log", { sentences: 75, badChecksums: 0 }, 5],
  ["rst39.log", { sentences: 152, badChecksums: 0, proprietary: 100 }, 41],
  ["nmea-fuzzy-cases.log", { sentences: 28, badChecksums: 0 }, 14],
  ["ublox-lea-4h.log", { sentences: 108, badChecksums: 0 }, null],
  ["firefly-II.log", { sentences: 46, badChecksums: 23 }, null],
  ["com-1289.log", { badChecksums: 1 }, null],
])("epochAssembler() counts the sentences of %s", (name, counts, epochs) => {
  const got = capture(name);
  expect(got.sentences).toMatchObject(counts);
  expect(got.sentences.acceptedBytes + got.sentences.droppedBytes).toBe(got.sentences.bytes);
  if (epochs !== null) expect(got.lines).toHaveLength(epochs);
});

test("epochAssembler() gives each epoch its own speed and gives it once, whatever stretch of lines an adapter hands over twice", () => {
  const lines = Array.from({ length: 12 }, (_, k) => {
    const time = `10012${Math.floor(k / 10)}.${k % 10}0`;
    const knots = (k * 1.1).toFixed(3);
    return [
      `GNRMC,${time},A,3000.000000,S,02000.000000,W,${knots},75.3,040531,,,A`,
      `GNVTG,75.3,T,,M,${knots},N,,K,A`,
      `GNGGA,${time},3000.000000,S,02000.000000,W,1,16,0.72,12.63,M,16.4,M,,`,
    ];
  }).flat();
  const spoken = (...all: string[]) => told(...all).lines.map(({ utc, speedMps }) => ({ utc, speedMps }));
  const once = spoken(...lines);
  for (let from = 0; from < 12; from++) {
    for (const together of [1, 2, 3, 4, 5, 8]) {
      const doubled: string[] = [];
      for (let i = from; i < lines.length; i += together) doubled.push(...lines.slice(i, i + together), ...lines.slice(i, i + together));
      expect(spoken(...lines.slice(0, from), ...doubled), `from line ${from}, ${together} together`).toEqual(once);
    }
  }
});

test("epochAssembler() reads a 10 Hz RTK receiver: time, fix, speed in gpsd's own figures", () => {
  const { lines } = capture("nmea-rtk.log");
  // gpsd 3.22 test/daemon/nmea-rtk.log.chk, first report.
  expect(lines[1]).toMatchObject({
    utc: "2020-03-18T13:28:19.700Z",
    fix: "differential",
    courseDeg: 139.06,
    hdop: 0.9,
    satellites: 10,
    altM: 278.161,
  });
  expect(lines[1].lat).toBeCloseTo(41.574965907, 8);
  expect(lines[1].lon).toBeCloseTo(-93.750571904, 8);
  expect(lines[1].speedMps).toBeCloseTo((0.355 * 1852) / 3600, 12);
  expect(lines.some(({ fix }) => fix === "rtkFixed")).toBe(true);
  expect(Math.max(...lines.map(({ speedMps }) => speedMps ?? 0))).toBeCloseTo(1.672973, 6);
});

test("epochAssembler() leaves speed and place unknown without a fix, whatever zeros are printed", () => {
  for (const line of capture("haicom-305N.log").lines)
    if (line.fix === "none") expect([line.speedMps, line.lat, line.altM]).toEqual([null, null, null]);
  const { lines } = capture("bt451.log");
  expect(lines[0]).toEqual({
    utc: null,
    timeOfDay: null,
    lat: null,
    lon: null,
    altM: null,
    speedMps: null,
    courseDeg: null,
    fix: "none",
    hdop: null,
    satellites: 0,
  });
  // The receiver's km/h contradict its own knots there (docs/check-values.md, NMEA 0183: 56.191 against 56.160): the knots are used.
  const moving = lines.slice(-5).map(({ speedMps }) => speedMps ?? Number.NaN);
  [15.600013, 15.875756, 16.128348, 16.462222, 16.602666].forEach((speed, i) => {
    expect(moving[i]).toBeCloseTo(speed, 6);
  });
});

interface Tpv {
  class: string;
  mode: number;
  time?: string;
  lat?: number;
  lon?: number;
  speed?: number;
  track?: number;
  alt?: number;
}
/** From Debian's gpsd-clients. */
const GPSDECODE = "/usr/bin/gpsdecode";
const hasGpsdecode = existsSync(GPSDECODE);
describe.skipIf(!hasGpsdecode)("gpsdecode on the same bytes [skipped where gpsd-clients is not installed]", () => {
  const captures = ["nmea-rtk.log", "bt451.log", "polarx2.log", "nmea-fuzzy-cases.log", "ublox-lea-4h.log"].map(capturePath);
  const newer = referencePath("nmea/quectel-l76k-nmea.head130.log");
  test.each(existsSync(newer) ? [...captures, newer] : captures)("%s", (path) => {
    const answer = spawnSync(GPSDECODE, [], { input: readFileSync(path), encoding: "utf8" });
    const reports = answer.stdout
      .split("\n")
      .filter((line) => line.includes('"TPV"'))
      .map((line) => JSON.parse(line) as Tpv)
      .filter(({ mode, time, speed }) => mode >= 2 && time !== undefined && speed !== undefined);
    const { lines } = assemble(readFileSync(path));
    const byTime = new Map<string, EpochLine>(lines.map((line) => [line.timeOfDay ?? "", line]));
    let compared = 0;
    for (const report of reports) {
      // gpsd moves old dates by a week rollover (docs/check-values.md, NMEA 0183): time of day only.
      const mine = byTime.get((report.time ?? "").slice(11, 23));
      if (mine?.speedMps == null) continue;
      compared += 1;
      expect(mine.lat).toBeCloseTo(report.lat ?? Number.NaN, 8);
      expect(mine.lon).toBeCloseTo(report.lon ?? Number.NaN, 8);
      // Printed to a millimetre a second; the sentence with the finer step may differ from gpsd's.
      expect(Math.abs(mine.speedMps - (report.speed ?? Number.NaN))).toBeLessThanOrEqual(0.03);
      if (report.track !== undefined && mine.courseDeg !== null) expect(mine.courseDeg).toBeCloseTo(report.track, 1);
      if (report.alt !== undefined && mine.altM !== null) expect(mine.altM).toBeCloseTo(report.alt, 2);
    }
    expect(compared).toBeGreaterThanOrEqual(Math.max(1, Math.floor(reports.length * 0.9)));
  });
});

test("nmea-simple, a second opinion, reads the same speeds and places", () => {
  const text = readFileSync(capturePath("nmea-rtk.log"), "latin1").split("\r\n");
  const { lines } = capture("nmea-rtk.log");
  let compared = 0;
  for (const sentence of text.filter((line) => line.includes("RMC"))) {
    const other = parseNmeaSentence(sentence);
    if (other.sentenceId !== "RMC") continue;
    const mine = lines.find(({ utc }) => utc === other.datetime.toISOString());
    expect(mine?.speedMps).toBeCloseTo((other.speedKnots * 1852) / 3600, 9);
    expect(mine?.courseDeg).toBe(other.trackTrue);
    compared += 1;
  }
  expect(compared).toBe(122);
});

const examples = referencePath("nmea/nmea_doc_checksum_examples.json");
test.skipIf(!existsSync(examples))(
  "nmeaScanner() takes gpsd's good examples and refuses those printed wrong [skipped where the reference folder is absent]",
  () => {
    const { good, bad_as_printed: bad } = JSON.parse(readFileSync(examples, "utf8")) as {
      good: string[];
      bad_as_printed: { sentence: string }[];
    };
    const scan = (list: string[]) => {
      const scanner = createNmeaScanner();
      scanner.push(ascii(list.join("\r\n")), 0, () => undefined);
      scanner.flush(() => undefined);
      return scanner.counts;
    };
    expect(scan(good)).toMatchObject({ sentences: good.length, badChecksums: 0 });
    expect(scan(bad.map(({ sentence }) => sentence))).toMatchObject({ sentences: 0, badChecksums: bad.length });
  },
);

// The examples of docs/check-values.md, NMEA 0183, so that a machine without the reference folder checks them too.
test("nmeaScanner() knows a wrong checksum and a missing one", () => {
  const { sentences } = assemble(
    ascii(
      "$GPVTG,220.86,T,,M,2.550,N,4.724,K,A*34\r\n$GPAPA,A,A,0.10,R,N,V,V,011,M,DEST,011,M*82\r\n$GPVTG,220.86,T,,M,2.550,N,4.724,K,A\r\n",
    ),
  );
  expect(sentences).toMatchObject({ sentences: 1, badChecksums: 1, missingChecksums: 1 });
});

const rmc = (time: string, date: string, knots = "10.00", status = "A") =>
  `GNRMC,${time},${status},3000.0000,S,02000.0000,W,${knots},74.00,${date},,,${status === "A" ? "A" : "N"}`;
const gga = (time: string, quality = 1) => `GNGGA,${time},3000.0000,S,02000.0000,W,${quality},12,0.8,10.0,M,0.0,M,,`;

describe("time", () => {
  test("day, month and year turn over, with the date carried where a sentence has none", () => {
    const { lines } = told(rmc("235959.80", "311230"), gga("235959.90"), gga("000000.00"), rmc("000000.10", "010131"));
    expect(lines.map(({ utc }) => utc)).toEqual([
      "2030-12-31T23:59:59.800Z",
      "2030-12-31T23:59:59.900Z",
      "2031-01-01T00:00:00.000Z",
      "2031-01-01T00:00:00.100Z",
    ]);
  });

  test("a leap second keeps its own name", () => {
    // 2016-12-31 had one (IERS Bulletin C 52).
    const { lines } = told(rmc("235959.50", "311216"), rmc("235960.00", "311216"), rmc("235960.50", "311216"), rmc("000000.00", "010117"));
    expect(lines.map(({ utc }) => utc)).toEqual([
      "2016-12-31T23:59:59.500Z",
      "2016-12-31T23:59:60.000Z",
      "2016-12-31T23:59:60.500Z",
      "2017-01-01T00:00:00.000Z",
    ]);
  });

  test("a date learned late dates the track from its beginning", () => {
    const track = createEpochTrackBuilder();
    const { epochs, lines } = told(rmc("235959.00", ""), gga("235959.50"), rmc("000000.00", ""), rmc("000000.50", "050531"));
    expect(lines.map(({ utc }) => utc)).toEqual([null, null, null, "2031-05-05T00:00:00.500Z"]);
    for (const epoch of epochs) track.add(epoch);
    const { utcMs, dated } = track.track();
    expect(dated).toBe(true);
    expect(Array.from(utcMs, (ms) => new Date(ms).toISOString())).toEqual([
      "2031-05-04T23:59:59.000Z",
      "2031-05-04T23:59:59.500Z",
      "2031-05-05T00:00:00.000Z",
      "2031-05-05T00:00:00.500Z",
    ]);
  });

  test("repeated epochs are dropped and counted, time may jump back, a millisecond of rounding is one epoch", () => {
    const { lines, counts } = told(
      rmc("100000.00", "050531"),
      gga("100000.00"),
      rmc("100000.10", "050531"),
      rmc("100000.00", "050531"),
      gga("100000.10"),
      rmc("090000.00", "050531"),
      gga("085959.999"),
    );
    expect(lines.map(({ timeOfDay }) => timeOfDay)).toEqual(["10:00:00.000", "10:00:00.100", "09:00:00.000"]);
    expect(counts.repeatedSentences).toBe(1);
    expect(lines[1].satellites).toBe(12);
    expect(lines[2].satellites).toBe(12);
  });
});

describe("speed", () => {
  test("comes from the finest print, its step known, and never from an empty field", () => {
    const { epochs } = told(
      rmc("100000.00", "050531", "10.0"),
      "GNVTG,74.0,T,,M,10.00,N,18.520,K,A",
      rmc("100000.10", "050531", ""),
      "GNVTG,74.0,T,,M,,N,,K,A",
    );
    expect(epochs[0].speedMps).toBeCloseTo(18.52 / 3.6, 12);
    expect(epochs[0].speedQuantumMps).toBeCloseTo(0.001 / 3.6, 12);
    expect(epochs[1].speedMps).toBeNaN();
    expect(epochs[1].fix).toBe("2d");
  });

  test("of a void sentence is unknown", () => {
    const { lines } = told(rmc("100000.00", "050531", "0.00", "V"), "GNVTG,0.0,T,,M,0.00,N,0.00,K,A", gga("100000.00", 0));
    expect(lines[0]).toMatchObject({ speedMps: null, lat: null, fix: "none", utc: "2031-05-04T10:00:00.000Z".replace("04", "05") });
  });

  const drive = (order: (k: number) => string[], offset: number) => {
    const bodies = Array.from({ length: 8 }, (_, k) => order(k))
      .flat()
      .slice(offset);
    return told(...bodies).epochs.filter(({ speedMps }) => !Number.isNaN(speedMps));
  };
  const time = (k: number) => `1000${(k / 10).toFixed(2).padStart(5, "0")}`;
  const vtg = (k: number) => `GNVTG,74.0,T,,M,${(10 + k).toFixed(3)},N,${((10 + k) * 1.852).toFixed(3)},K,A`;
  const coarse = (k: number) => rmc(time(k), "050531", (10 + k).toFixed(1));
  test.each([
    ["RMC VTG GGA", (k: number) => [coarse(k), vtg(k), gga(time(k))], 0],
    ["GGA RMC VTG", (k: number) => [gga(time(k)), coarse(k), vtg(k)], 1],
    ["VTG GGA RMC, from its beginning", (k: number) => [vtg(k), gga(time(k)), coarse(k)], 0],
    ["VTG GGA RMC, begun in the middle", (k: number) => [vtg(k), gga(time(k)), coarse(k)], 1],
    ["GGA VTG", (k: number) => [gga(time(k)), vtg(k)], 0],
  ])("stays with its own epoch in the order %s", (_, order, offset) => {
    const epochs = drive(order, offset);
    expect(epochs.length).toBeGreaterThanOrEqual(7);
    for (const { speedMps, timeOfDayMs } of epochs)
      expect(speedMps).toBeCloseTo(((10 + (timeOfDayMs - 36_000_000) / 100) * 1852) / 3600, 3);
  });
});

test("epochAssembler() takes the pause between bursts as the border where sentences without a time lead", () => {
  const assembler = createEpochAssembler();
  const epochs: Epoch[] = [];
  for (let k = 0; k < 5; k++) {
    const burst = [`GPGSV,1,1,00`, `GNVTG,74.0,T,,M,${10 + k}.00,N,,K,A`, gga(`100000.${k}0`)].map(nmeaSentence);
    burst.forEach((sentence, i) => {
      assembler.push(ascii(sentence), k * 100e6 + i * 1e6, (epoch) => epochs.push(epoch));
    });
  }
  assembler.flush((epoch) => epochs.push(epoch));
  expect(epochs.map(({ arrivalNs }) => arrivalNs)).toEqual([0, 100e6, 200e6, 300e6, 400e6]);
  expect(epochs.map(({ speedMps }) => Math.round((speedMps * 3600) / 1852))).toEqual([10, 11, 12, 13, 14]);
});

const anyStream = fc
  .array(
    fc.oneof(
      fc.uint8Array({ maxLength: 30 }),
      fc
        .constantFrom(nmeaSentence(rmc("100000.00", "050531")), nmeaSentence(gga("100000.10")), nmeaSentence("PXYZ,1"), "$GP", "\r\n")
        .map(ascii),
    ),
    { maxLength: 25 },
  )
  .map((pieces) => Uint8Array.from(pieces.flatMap((one) => Array.from(one))));
test("epochAssembler() gives the same epochs for every cut of any bytes, and accounts for every byte", () => {
  fc.assert(
    fc.property(anyStream, fc.array(fc.integer({ min: 1, max: 60 }), { minLength: 1, maxLength: 20 }), (bytes, cuts) => {
      const whole = assemble(bytes);
      const pieces = assemble(bytes, cuts);
      expect(pieces.epochs).toEqual(whole.epochs);
      expect(pieces.sentences).toEqual(whole.sentences);
      expect(whole.sentences.acceptedBytes + whole.sentences.droppedBytes).toBe(bytes.length);
    }),
    { numRuns: 300 },
  );
});
