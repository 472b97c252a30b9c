/** One epoch while its sentences come in, and its values once it is complete. Unknown stays NaN or null. */
import { MPS_PER_KMH, MPS_PER_KNOT } from "../kernel/units.ts";
import type { SentenceType } from "./nmea-sentence.ts";
import type { Reading, Validity } from "./nmea-reading.ts";
import type { Fix } from "../signals/tracks.ts";

/** One epoch of a receiver; numbers are NaN where unknown. */
export interface Epoch {
  /** Arrival of the epoch's first byte. */
  readonly arrivalNs: number;
  readonly burstBytes: number;
  /** UTC since midnight, ms; a leap second lies above 86,400,000. */
  readonly timeOfDayMs: number;
  /** UTC since 1970, ms; NaN until a date is known. */
  readonly utcMs: number;
  readonly speedMps: number;
  readonly speedQuantumMps: number;
  readonly courseDeg: number;
  readonly latDeg: number;
  readonly lonDeg: number;
  readonly altM: number;
  readonly hdop: number;
  readonly satellites: number;
  /** Null where no sentence of the epoch says. */
  readonly fix: Fix | null;
}

/** Sentence types in the order in which their statement about the fix counts. */
const FIX_ORDER: readonly SentenceType[] = ["GGA", "GNS", "RMC", "GLL", "VTG"];
const POSITION_ORDER: readonly SentenceType[] = ["GGA", "GNS", "RMC", "GLL"];
const ALL_TYPES: readonly SentenceType[] = ["RMC", "VTG", "GGA", "GNS", "GSA", "GST", "ZDA", "GLL", "GSV", "other"];
/** For how many epochs a GSA still separates 2d from 3d: some receivers send it only once a second. */
const DIMENSION_EPOCHS = 30;

/** What the stream has shown so far about how this receiver prints speed. */
export class SpeedHabits {
  #rmcDecimals = 0;
  #vtgKnotsDecimals = 0;
  #vtgKmhDecimals = 0;
  /** Stays true once km/h and knots of one sentence contradict each other: some receivers convert wrongly. */
  #kmhWrong = false;

  learn(reading: Reading): void {
    if (reading.type === "RMC" && !Number.isNaN(reading.knots)) this.#rmcDecimals = Math.max(this.#rmcDecimals, reading.knotsDecimals);
    if (reading.type !== "VTG") return;
    if (!Number.isNaN(reading.knots)) this.#vtgKnotsDecimals = Math.max(this.#vtgKnotsDecimals, reading.knotsDecimals);
    if (Number.isNaN(reading.kmh)) return;
    this.#vtgKmhDecimals = Math.max(this.#vtgKmhDecimals, reading.kmhDecimals);
    const roundings = 0.5 * 10 ** -reading.kmhDecimals + 0.926 * 10 ** -reading.knotsDecimals;
    if (Math.abs(reading.kmh - reading.knots * 1.852) > roundings * 1.01) this.#kmhWrong = true;
  }

  /** The speed with the finest step that the epoch has, and that step, both m/s; NaN if there is none. */
  best(rmcKnots: number, vtgKnots: number, vtgKmh: number): { speedMps: number; quantumMps: number } {
    let speedMps = Number.NaN;
    let quantumMps = Number.NaN;
    const offer = (value: number, decimals: number, scale: number): void => {
      const step = scale * 10 ** -decimals;
      if (Number.isNaN(value) || step >= quantumMps) return;
      speedMps = value * scale;
      quantumMps = step;
    };
    offer(rmcKnots, this.#rmcDecimals, MPS_PER_KNOT);
    offer(vtgKnots, this.#vtgKnotsDecimals, MPS_PER_KNOT);
    if (!this.#kmhWrong) offer(vtgKmh, this.#vtgKmhDecimals, MPS_PER_KMH);
    return { speedMps, quantumMps };
  }
}

/** The epoch now open. A second reading of a type adds only what the first left unknown. */
export class EpochDraft {
  arrivalNs = 0;
  /** Arrival of the last sentence taken. */
  lastArrivalNs = 0;
  timeOfDayMs = Number.NaN;
  day = Number.NaN;
  rmcKnots = Number.NaN;
  #burstBytes = 0;
  #seen = 0;
  #vtgKnots = Number.NaN;
  #vtgKmh = Number.NaN;
  #courseDeg = Number.NaN;
  #courseDecimals = -1;
  #hdop = Number.NaN;
  #gsaHdop = Number.NaN;
  #satellites = Number.NaN;
  #altM = Number.NaN;
  #dimension = 0;
  readonly #validity: Validity[] = new Array(ALL_TYPES.length).fill(null);
  readonly #latDeg = new Float64Array(ALL_TYPES.length).fill(Number.NaN);
  readonly #lonDeg = new Float64Array(ALL_TYPES.length).fill(Number.NaN);

  has(type: SentenceType): boolean {
    return (this.#seen & (1 << ALL_TYPES.indexOf(type))) !== 0;
  }

  take(reading: Reading): void {
    const index = ALL_TYPES.indexOf(reading.type);
    if (this.#seen === 0) this.arrivalNs = reading.arrivalNs;
    this.#seen |= 1 << index;
    this.lastArrivalNs = reading.arrivalNs;
    this.#burstBytes += reading.byteLength;
    if (Number.isNaN(this.timeOfDayMs)) this.timeOfDayMs = reading.timeOfDayMs;
    // ZDA has the whole year; it may correct the century.
    if (Number.isNaN(this.day) || (reading.type === "ZDA" && !Number.isNaN(reading.day))) this.day = reading.day;
    if (this.#validity[index] === null) this.#validity[index] = reading.validity;
    if (Number.isNaN(this.#latDeg[index])) {
      this.#latDeg[index] = reading.latDeg;
      this.#lonDeg[index] = reading.lonDeg;
    }
    if (reading.type === "RMC" && Number.isNaN(this.rmcKnots)) this.rmcKnots = reading.knots;
    if (reading.type === "VTG" && Number.isNaN(this.#vtgKnots)) {
      this.#vtgKnots = reading.knots;
      this.#vtgKmh = reading.kmh;
    }
    if (!Number.isNaN(reading.courseDeg) && reading.courseDecimals > this.#courseDecimals) {
      this.#courseDeg = reading.courseDeg;
      this.#courseDecimals = reading.courseDecimals;
    }
    if (reading.type === "GSA") {
      if (Number.isNaN(this.#gsaHdop)) this.#gsaHdop = reading.hdop;
      this.#dimension = Math.max(this.#dimension, reading.dimension);
    } else if (Number.isNaN(this.#hdop)) this.#hdop = reading.hdop;
    if (Number.isNaN(this.#satellites)) this.#satellites = reading.satellites;
    if (Number.isNaN(this.#altM)) this.#altM = reading.altM;
  }

  /** The epoch as far as it is known. `memory` separates 2d from 3d where this epoch has no GSA. */
  finish(habits: SpeedHabits, memory: DimensionMemory, utcMs: number): Epoch {
    const said = this.#first(FIX_ORDER, (index) => this.#validity[index] !== null);
    const validity = said < 0 ? null : this.#validity[said];
    const dimension = this.#dimension > 0 ? this.#dimension : memory.dimension();
    const flat = dimension > 0 ? dimension === 2 : Number.isNaN(this.#altM);
    const fix: Fix | null = validity === "autonomous" ? (flat ? "2d" : "3d") : validity;
    // A VTG is only as valid as the epoch: some receivers print mode A and a speed of 0 beside a void RMC.
    const voidRmc = this.#validity[ALL_TYPES.indexOf("RMC")] === "none";
    const vtgCounts = fix !== null && fix !== "none" && !voidRmc;
    const { speedMps, quantumMps } = habits.best(
      fix === "none" ? Number.NaN : this.rmcKnots,
      vtgCounts ? this.#vtgKnots : Number.NaN,
      vtgCounts ? this.#vtgKmh : Number.NaN,
    );
    const place = fix === "none" ? -1 : this.#first(POSITION_ORDER, (index) => !Number.isNaN(this.#latDeg[index]));
    return {
      arrivalNs: this.arrivalNs,
      burstBytes: this.#burstBytes,
      timeOfDayMs: this.timeOfDayMs,
      utcMs,
      speedMps,
      speedQuantumMps: quantumMps,
      courseDeg: Number.isNaN(speedMps) ? Number.NaN : this.#courseDeg,
      latDeg: place < 0 ? Number.NaN : this.#latDeg[place],
      lonDeg: place < 0 ? Number.NaN : this.#lonDeg[place],
      altM: fix === "none" ? Number.NaN : this.#altM,
      hdop: Number.isNaN(this.#hdop) ? this.#gsaHdop : this.#hdop,
      satellites: this.#satellites,
      fix,
    };
  }

  /** Keeps this epoch's GSA for the epochs that follow. */
  remember(memory: DimensionMemory): void {
    memory.next(this.#dimension);
  }

  #first(order: readonly SentenceType[], holds: (index: number) => boolean): number {
    for (const type of order) {
      const index = ALL_TYPES.indexOf(type);
      if (holds(index)) return index;
    }
    return -1;
  }
}

/** The dimension in the last GSA; forgotten after DIMENSION_EPOCHS epochs. */
export class DimensionMemory {
  #dimension = 0;
  #age = 0;

  next(dimension: number): void {
    this.#age += 1;
    if (dimension === 0) return;
    this.#dimension = dimension;
    this.#age = 0;
  }

  dimension(): number {
    return this.#age < DIMENSION_EPOCHS ? this.#dimension : 0;
  }
}
