/**
 * Finds NMEA 0183 sentences in a byte stream, checks their checksum and marks their fields. Chunks may end anywhere. Works on bytes, so
 * that an empty field stays empty. Bounded memory, linear work; bytes that are no sentence are dropped and counted. Never throws.
 *
 * nmea-simple is not used here: it reads an empty speed as 0, throws on unknown sentences and handles about an eighth as many a second
 * (measured). The tests compare with it on what both can read.
 */
import { CR, LF } from "../kernel/ascii.ts";
import { readHex } from "../frames/hex-digit.ts";

const DOLLAR = 0x24;
const BANG = 0x21;
const STAR = 0x2a;
const COMMA = 0x2c;
/** The standard says 82; makers' own sentences run to several hundred. */
const LONGEST_SENTENCE = 1024;
const MOST_FIELDS = 128;

/** Sentence types read for what they say; every other type is "other". */
export type SentenceType = "RMC" | "VTG" | "GGA" | "GNS" | "GSA" | "GST" | "ZDA" | "GLL" | "GSV" | "other";

export interface NmeaCounts {
  bytes: number;
  /** Bytes of sentences with a good checksum and of line ends. */
  acceptedBytes: number;
  droppedBytes: number;
  sentences: number;
  badChecksums: number;
  /** Sentences without a checksum: they may be cut or garbled, so they are not used. */
  missingChecksums: number;
  /** Good sentences of a maker's own ($P...). */
  proprietary: number;
  /** Good sentences of a type that is not read. */
  unknown: number;
  byType: Record<Exclude<SentenceType, "other">, number>;
}

/** A sentence with a good checksum. The object is reused: valid until the next sentence only. */
export interface NmeaSentence {
  type: SentenceType;
  /** Arrival of the packet that held its first byte. */
  arrivalNs: number;
  /** Length with the line end that the protocol prescribes (CR LF). */
  byteLength: number;
  bytes: Uint8Array;
  /** Number of fields; field 0 is the address. Field i runs from fieldStart[i] to before fieldEnd[i]. */
  fieldCount: number;
  readonly fieldStart: Uint16Array | Int32Array;
  readonly fieldEnd: Uint16Array | Int32Array;
}

export interface NmeaScanner {
  push(bytes: Uint8Array, arrivalNs: number, onSentence: (sentence: NmeaSentence) => void): void;
  /** Reads a last sentence without a line end. */
  flush(onSentence: (sentence: NmeaSentence) => void): void;
  readonly counts: Readonly<NmeaCounts>;
}

/** A scanner with nothing read yet. */
export function createNmeaScanner(): NmeaScanner {
  return new Scanner();
}

class Scanner implements NmeaScanner {
  readonly counts: NmeaCounts = {
    bytes: 0,
    acceptedBytes: 0,
    droppedBytes: 0,
    sentences: 0,
    badChecksums: 0,
    missingChecksums: 0,
    proprietary: 0,
    unknown: 0,
    byType: { RMC: 0, VTG: 0, GGA: 0, GNS: 0, GSA: 0, GST: 0, ZDA: 0, GLL: 0, GSV: 0 },
  };
  readonly #kept = new Uint8Array(LONGEST_SENTENCE);
  #keptLength = 0;
  #keptArrivalNs = 0;
  readonly #out: NmeaSentence = {
    type: "other",
    arrivalNs: 0,
    byteLength: 0,
    bytes: this.#kept,
    fieldCount: 0,
    fieldStart: new Int32Array(MOST_FIELDS),
    fieldEnd: new Int32Array(MOST_FIELDS),
  };

  push(bytes: Uint8Array, arrivalNs: number, onSentence: (sentence: NmeaSentence) => void): void {
    const counts = this.counts;
    const end = bytes.length;
    counts.bytes += end;
    // Where the sentence being read starts in these bytes; -1 while none has begun here.
    let start = this.#keptLength > 0 ? 0 : -1;
    let junk = 0;
    for (let i = 0; i < end; i++) {
      const byte = bytes[i];
      if (byte === LF || byte === CR) {
        counts.acceptedBytes += 1;
        if (start >= 0) this.#end(bytes, start, i, arrivalNs, onSentence);
        start = -1;
      } else if (byte === DOLLAR || byte === BANG) {
        // Neither sign can stand inside a sentence, so the one before was cut short.
        if (start >= 0) {
          junk += this.#keptLength + i - start;
          this.#keptLength = 0;
        }
        start = i;
      } else if (start < 0) junk += 1;
      else if (this.#keptLength + i - start >= LONGEST_SENTENCE) {
        junk += this.#keptLength + i - start + 1;
        this.#keptLength = 0;
        start = -1;
      }
    }
    counts.droppedBytes += junk;
    if (start >= 0) {
      if (this.#keptLength === 0) this.#keptArrivalNs = arrivalNs;
      this.#kept.set(bytes.subarray(start, end), this.#keptLength);
      this.#keptLength += end - start;
    }
  }

  flush(onSentence: (sentence: NmeaSentence) => void): void {
    const length = this.#keptLength;
    this.#keptLength = 0;
    if (length > 0) this.#read(this.#kept, 0, length, this.#keptArrivalNs, onSentence);
  }

  #end(bytes: Uint8Array, start: number, to: number, arrivalNs: number, onSentence: (sentence: NmeaSentence) => void): void {
    if (this.#keptLength === 0) {
      this.#read(bytes, start, to, arrivalNs, onSentence);
      return;
    }
    this.#kept.set(bytes.subarray(start, to), this.#keptLength);
    this.#keptLength += to - start;
    this.flush(onSentence);
  }

  #read(bytes: Uint8Array, from: number, to: number, arrivalNs: number, onSentence: (sentence: NmeaSentence) => void): void {
    const counts = this.counts;
    const out = this.#out;
    const starts = out.fieldStart;
    const ends = out.fieldEnd;
    let sum = 0;
    let fields = 0;
    starts[0] = from + 1;
    let i = from + 1;
    for (; i < to && bytes[i] !== STAR; i++) {
      sum ^= bytes[i];
      if (bytes[i] === COMMA && fields < MOST_FIELDS - 1) {
        ends[fields] = i;
        fields += 1;
        starts[fields] = i + 1;
      }
    }
    ends[fields] = i;
    let last = to;
    // Blanks after the checksum are harmless; some captures have them.
    while (last > i && bytes[last - 1] === 0x20) last -= 1;
    if (i === to) {
      counts.missingChecksums += 1;
      counts.droppedBytes += to - from;
      return;
    }
    if (last - i !== 3 || readHex(bytes, i + 1, 2) !== sum) {
      counts.badChecksums += 1;
      counts.droppedBytes += to - from;
      return;
    }
    counts.sentences += 1;
    counts.acceptedBytes += to - from;
    out.type = typeOf(bytes, from + 1, ends[0]);
    if (out.type !== "other") counts.byType[out.type] += 1;
    else if (bytes[from + 1] === 0x50) counts.proprietary += 1;
    else counts.unknown += 1;
    out.arrivalNs = arrivalNs;
    out.byteLength = to - from + 2;
    out.bytes = bytes;
    out.fieldCount = fields + 1;
    onSentence(out);
  }
}

const TYPES = new Map<number, SentenceType>(
  (["RMC", "VTG", "GGA", "GNS", "GSA", "GST", "ZDA", "GLL", "GSV"] as const).map((type) => [
    (type.charCodeAt(0) << 16) | (type.charCodeAt(1) << 8) | type.charCodeAt(2),
    type,
  ]),
);

/** The sentence type: the last three letters of a five-letter address whose talker is not P (a maker's own). */
function typeOf(bytes: Uint8Array, from: number, to: number): SentenceType {
  if (to - from !== 5 || bytes[from] === 0x50) return "other";
  return TYPES.get((bytes[from + 2] << 16) | (bytes[from + 3] << 8) | bytes[from + 4]) ?? "other";
}
