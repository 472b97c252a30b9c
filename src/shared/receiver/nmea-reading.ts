/**
 * The values of one sentence. Status and validity are read before any value; what is empty, malformed or void is NaN, never 0. A reading
 * object is reused: `readSentence` overwrites it.
 */
import { dayNumber } from "../kernel/civil-date.ts";
import { fieldDecimals, fieldDegrees, fieldLetter, fieldNumber, fieldTimeOfDayMs } from "./nmea-fields.ts";
import type { NmeaSentence, SentenceType } from "./nmea-sentence.ts";
import type { Fix } from "../signals/tracks.ts";

/** "autonomous" becomes 2d or 3d when the epoch is complete; null where the sentence does not say. */
export type Validity = Exclude<Fix, "2d" | "3d"> | "autonomous" | null;

export interface Reading {
  type: SentenceType;
  arrivalNs: number;
  byteLength: number;
  /** Since midnight; NaN if the sentence has none. */
  timeOfDayMs: number;
  /** Days since 1970; NaN if the sentence has no date. */
  day: number;
  validity: Validity;
  knots: number;
  knotsDecimals: number;
  kmh: number;
  kmhDecimals: number;
  courseDeg: number;
  courseDecimals: number;
  latDeg: number;
  lonDeg: number;
  altM: number;
  hdop: number;
  satellites: number;
  /** 2 or 3 from GSA; 0 unknown. */
  dimension: number;
}

const A = 0x41;
/** Receivers print 99.99 or 0 for an unknown dilution of precision (seen in gpsd's captures bt451 and haicom-305N). */
const UNKNOWN_HDOP = 99;
const QUALITIES: readonly Validity[] = [
  "none",
  "autonomous",
  "differential",
  "autonomous",
  "rtkFixed",
  "rtkFloat",
  "estimated",
  "estimated",
  "estimated",
];
/** Mode letters of NMEA 2.3 and later: manual and simulator count as estimated. */
const MODES = new Map<number, Validity>(
  (
    [
      ["A", "autonomous"],
      ["P", "autonomous"],
      ["D", "differential"],
      ["F", "rtkFloat"],
      ["R", "rtkFixed"],
      ["E", "estimated"],
      ["M", "estimated"],
      ["S", "estimated"],
      ["N", "none"],
    ] as const
  ).map(([letter, validity]) => [letter.charCodeAt(0), validity]),
);
/** GNS has a letter for each constellation: the best of them counts. */
const BEST_FIRST: readonly Validity[] = ["rtkFixed", "rtkFloat", "differential", "autonomous", "estimated", "none"];

/** An empty reading to be filled. */
export function createReading(): Reading {
  return { type: "other", arrivalNs: 0, byteLength: 0, ...nothing };
}

const nothing = {
  timeOfDayMs: Number.NaN,
  day: Number.NaN,
  validity: null as Validity,
  knots: Number.NaN,
  knotsDecimals: 0,
  kmh: Number.NaN,
  kmhDecimals: 0,
  courseDeg: Number.NaN,
  courseDecimals: 0,
  latDeg: Number.NaN,
  lonDeg: Number.NaN,
  altM: Number.NaN,
  hdop: Number.NaN,
  satellites: Number.NaN,
  dimension: 0,
};

/** Fills `into` from a sentence with a good checksum. */
export function readSentence(sentence: NmeaSentence, into: Reading): void {
  clear(into);
  into.type = sentence.type;
  into.arrivalNs = sentence.arrivalNs;
  into.byteLength = sentence.byteLength;
  switch (sentence.type) {
    case "RMC":
      readRmc(sentence, into);
      return;
    case "VTG":
      readVtg(sentence, into);
      return;
    case "GGA":
      readGga(sentence, into);
      return;
    case "GNS":
      readGns(sentence, into);
      return;
    case "GLL":
      into.timeOfDayMs = fieldTimeOfDayMs(sentence, 5);
      into.validity = fieldLetter(sentence, 6) === A ? (MODES.get(fieldLetter(sentence, 7)) ?? "autonomous") : "none";
      if (into.validity !== "none") readPosition(sentence, into, 1);
      return;
    case "GSA": {
      const mode = fieldNumber(sentence, 2);
      into.dimension = mode === 2 || mode === 3 ? mode : 0;
      into.hdop = knownHdop(fieldNumber(sentence, 16));
      return;
    }
    case "GST":
      into.timeOfDayMs = fieldTimeOfDayMs(sentence, 1);
      return;
    case "ZDA":
      into.timeOfDayMs = fieldTimeOfDayMs(sentence, 1);
      into.day = dayNumber(fieldNumber(sentence, 4), fieldNumber(sentence, 3), fieldNumber(sentence, 2));
      return;
    default:
      return;
  }
}

function clear(into: Reading): void {
  into.timeOfDayMs = Number.NaN;
  into.day = Number.NaN;
  into.validity = null;
  into.knots = Number.NaN;
  into.kmh = Number.NaN;
  into.courseDeg = Number.NaN;
  into.latDeg = Number.NaN;
  into.lonDeg = Number.NaN;
  into.altM = Number.NaN;
  into.hdop = Number.NaN;
  into.satellites = Number.NaN;
  into.dimension = 0;
}

function readRmc(sentence: NmeaSentence, into: Reading): void {
  into.timeOfDayMs = fieldTimeOfDayMs(sentence, 1);
  into.day = dayOf(fieldNumber(sentence, 9));
  const mode = MODES.get(fieldLetter(sentence, 12)) ?? "autonomous";
  into.validity = fieldLetter(sentence, 2) === A ? mode : "none";
  if (into.validity === "none") return;
  readPosition(sentence, into, 3);
  into.knots = notNegative(fieldNumber(sentence, 7));
  into.knotsDecimals = fieldDecimals(sentence, 7);
  readCourse(sentence, into, 8);
}

function readVtg(sentence: NmeaSentence, into: Reading): void {
  // Without its unit letters this is the form before NMEA 2.0, in which the fields stand elsewhere.
  if (fieldLetter(sentence, 6) !== 0x4e || fieldLetter(sentence, 8) !== 0x4b) return;
  into.validity = MODES.get(fieldLetter(sentence, 9)) ?? null;
  if (into.validity === "none") return;
  into.knots = notNegative(fieldNumber(sentence, 5));
  into.knotsDecimals = fieldDecimals(sentence, 5);
  into.kmh = notNegative(fieldNumber(sentence, 7));
  into.kmhDecimals = fieldDecimals(sentence, 7);
  readCourse(sentence, into, 1);
}

function readGga(sentence: NmeaSentence, into: Reading): void {
  into.timeOfDayMs = fieldTimeOfDayMs(sentence, 1);
  into.validity = QUALITIES[fieldNumber(sentence, 6)] ?? "none";
  into.satellites = notNegative(fieldNumber(sentence, 7));
  into.hdop = knownHdop(fieldNumber(sentence, 8));
  if (into.validity === "none") return;
  readPosition(sentence, into, 2);
  into.altM = fieldNumber(sentence, 9);
}

function readGns(sentence: NmeaSentence, into: Reading): void {
  into.timeOfDayMs = fieldTimeOfDayMs(sentence, 1);
  const modes = new Set<Validity>();
  for (let i = sentence.fieldStart[6]; i < sentence.fieldEnd[6] && sentence.fieldCount > 6; i++)
    modes.add(MODES.get(sentence.bytes[i]) ?? "none");
  into.validity = BEST_FIRST.find((mode) => modes.has(mode)) ?? "none";
  into.satellites = notNegative(fieldNumber(sentence, 7));
  into.hdop = knownHdop(fieldNumber(sentence, 8));
  if (into.validity === "none") return;
  readPosition(sentence, into, 2);
  into.altM = fieldNumber(sentence, 9);
}

function readPosition(sentence: NmeaSentence, into: Reading, field: number): void {
  const latDeg = fieldDegrees(sentence, field, "lat");
  const lonDeg = fieldDegrees(sentence, field + 2, "lon");
  // A position needs both halves.
  if (Number.isNaN(latDeg) || Number.isNaN(lonDeg)) return;
  into.latDeg = latDeg;
  into.lonDeg = lonDeg;
}

function readCourse(sentence: NmeaSentence, into: Reading, field: number): void {
  const course = fieldNumber(sentence, field);
  into.courseDeg = course >= 0 && course <= 360 ? course : Number.NaN;
  into.courseDecimals = fieldDecimals(sentence, field);
}

/** ddmmyy: two-digit years from 80 on are of the last century (GPS began in 1980). */
function dayOf(date: number): number {
  const year = date % 100;
  return dayNumber(year < 80 ? 2000 + year : 1900 + year, Math.floor(date / 100) % 100, Math.floor(date / 10_000));
}

function notNegative(value: number): number {
  return value >= 0 ? value : Number.NaN;
}

function knownHdop(value: number): number {
  return value > 0 && value < UNKNOWN_HDOP ? value : Number.NaN;
}
