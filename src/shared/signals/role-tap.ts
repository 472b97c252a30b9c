/**
 * Extracts the signals that play a role from batches of frames, as columns in SI units, and keeps what the clock fit needs of all frames.
 * Linear work; memory grows until `dropBefore` is called. A value that its label marks as unavailable is left out and counted. Creating a
 * tap throws RoleError where a choice is impossible.
 */
import { FRAME_EXTENDED, FRAME_REMOTE, type FrameBatch } from "../frames/frame-batch.ts";
import type { ListRole, SingleRole } from "../setup/roles.ts";
import type { SetUp } from "../setup/set-up.ts";
import type { SignalDatabase } from "../dbc/dbc-decode.ts";
import { FrameRows, type FrameTimes } from "./frame-rows.ts";
import { GrowingColumns } from "./growing-column.ts";
import { bindRoles, isListRole, type RoleBinding } from "./role-binding.ts";
import { TapColumn } from "./tap-column.ts";
import type { ClockObservations, RoleTracks } from "./tracks.ts";

/** Adapter time for which one observation of its clock is kept, ms. */
const CLOCK_BIN_MS = 250;

const ARRIVAL = 0;
const ADAPTER = 1;

/** The newest value of a signal in a role. */
interface LatestValue {
  readonly name: string;
  readonly unit: string;
  readonly value: number;
  readonly arrivalNs: number;
}

/** Newest values by role. A role without a value yet is absent; a sensor of a list without one is null in its place. */
export type LatestValues = { [role in SingleRole]?: LatestValue } & { [role in ListRole]?: (LatestValue | null)[] };

/** The greatest values since they were last taken; null where no value came. */
export interface TapPeaks {
  readonly motorSpeed: number | null;
  /**
   * Torque asked minus torque delivered, at each delivered value, while the driver asks for torque. Each delivered value is compared with
   * the last request before it.
   */
  readonly heldNm: number | null;
}

export interface RoleTap {
  push(batch: FrameBatch): void;
  /** Gives the greatest values since the last call, so that a screen slower than the bus loses no spike. */
  takePeaks(): TapPeaks;
  /** All columns kept: copies, or views that are good until something is let go of. */
  tracks(how?: "copied" | "viewed"): { readonly roles: RoleTracks; readonly busClock: ClockObservations };
  latest(): LatestValues;
  /** Drops what arrived before, so that a live session needs bounded memory. The newest values stay. */
  dropBefore(arrivalNs: number): void;
  /** Values left out because their label says that none is available, or because they were not a number. */
  readonly unknownValues: number;
}

/** A tap for the set-up's roles on these signal files. Throws RoleError. */
export function createRoleTap(database: SignalDatabase, setUp: Pick<SetUp, "signals">): RoleTap {
  return new Tap(bindRoles(database, setUp.signals));
}

/** One message that a role needs, with the columns of its signals. */
interface TappedMessage {
  readonly rows: FrameRows;
  readonly columns: TapColumn[];
}

class Tap implements RoleTap {
  readonly #columns: readonly TapColumn[];
  /** By 11-bit id; most buses have nothing else. */
  readonly #standard: (TappedMessage | undefined)[] = new Array(0x800).fill(undefined);
  readonly #extended = new Map<number, TappedMessage>();
  readonly #messages: TappedMessage[] = [];
  readonly #clock = new ClockBins();
  readonly #motor: TapColumn | undefined;
  readonly #asked: TapColumn | undefined;
  readonly #delivered: TapColumn | undefined;
  #mostSpeed = Number.NEGATIVE_INFINITY;
  #mostHeld = Number.NEGATIVE_INFINITY;

  constructor(bindings: readonly RoleBinding[]) {
    this.#columns = bindings.map((binding) => {
      const { rows, columns } = this.#messageOf(binding);
      const column = new TapColumn(binding, rows);
      columns.push(column);
      return column;
    });
    const playing = (role: SingleRole) => this.#columns.find((column) => column.binding.role === role);
    this.#motor = playing("motorSpeed");
    this.#asked = playing("torqueRequest");
    this.#delivered = playing("torqueDelivered");
  }

  #messageOf({ decoder }: RoleBinding): TappedMessage {
    const { id, extended } = decoder.message;
    const known = extended ? this.#extended.get(id) : this.#standard[id];
    if (known !== undefined) return known;
    const message = { rows: new FrameRows(), columns: [] };
    this.#messages.push(message);
    if (extended) this.#extended.set(id, message);
    else this.#standard[id] = message;
    return message;
  }

  get unknownValues(): number {
    return this.#columns.reduce((sum, column) => sum + column.unknownValues, 0);
  }

  push(batch: FrameBatch): void {
    const { length, flags, id, adapterMs, arrivalNs, clockSegment } = batch;
    for (let row = 0; row < length; row++) {
      this.#clock.add(adapterMs[row], arrivalNs[row], clockSegment[row]);
      if ((flags[row] & FRAME_REMOTE) !== 0) continue;
      const message = (flags[row] & FRAME_EXTENDED) !== 0 ? this.#extended.get(id[row]) : this.#standard[id[row]];
      if (message === undefined) continue;
      const { rows, columns } = message;
      rows.add(batch, row);
      for (let k = 0; k < columns.length; k++) columns[k].take(batch, row);
      // After all columns have taken the frame, as one frame may carry both torques.
      for (let k = 0; k < columns.length; k++) this.#watch(columns[k]);
    }
  }

  #watch(column: TapColumn): void {
    if (column === this.#motor && column.lastValue > this.#mostSpeed) this.#mostSpeed = column.lastValue;
    if (column !== this.#delivered || this.#asked === undefined) return;
    const asked = this.#asked.lastValue;
    const held = asked <= 0 ? 0 : Math.max(0, asked - column.lastValue);
    if (held > this.#mostHeld) this.#mostHeld = held;
  }

  takePeaks(): TapPeaks {
    const known = (most: number) => (most === Number.NEGATIVE_INFINITY ? null : most);
    const peaks = { motorSpeed: known(this.#mostSpeed), heldNm: known(this.#mostHeld) };
    this.#mostSpeed = Number.NEGATIVE_INFINITY;
    this.#mostHeld = Number.NEGATIVE_INFINITY;
    return peaks;
  }

  tracks(how: "copied" | "viewed" = "copied"): { roles: RoleTracks; busClock: ClockObservations } {
    const roles: RoleTracks = {};
    const times = new Map(this.#messages.map(({ rows }) => [rows, rows.times(how)]));
    for (const column of this.#columns) {
      const { role } = column.binding;
      const track = column.track(how, times.get(column.rows) as FrameTimes);
      if (isListRole(role)) roles[role] = [...(roles[role] ?? []), track];
      else roles[role] = track;
    }
    return { roles, busClock: this.#clock.observations() };
  }

  latest(): LatestValues {
    const values: LatestValues = {};
    for (const { binding, lastValue, lastArrivalNs } of this.#columns) {
      const newest = Number.isNaN(lastValue)
        ? null
        : { name: binding.decoder.name, unit: binding.conversion.unit, value: lastValue, arrivalNs: lastArrivalNs };
      const { role } = binding;
      if (isListRole(role)) values[role] = [...(values[role] ?? []), newest];
      else if (newest !== null) values[role] = newest;
    }
    return values;
  }

  dropBefore(arrivalNs: number): void {
    for (const { rows, columns } of this.#messages) {
      const count = rows.dropBefore(arrivalNs);
      if (count > 0) for (const column of columns) column.dropFirst(count);
    }
    this.#clock.dropBefore(arrivalNs);
  }
}

/** One observation for each bin of adapter time: the frame with the least arrival delay. */
class ClockBins {
  readonly #rows = new GrowingColumns(2);
  #bin = Number.NaN;
  #segment = -1;
  #leastDelayMs = Infinity;
  #unstampedBin = Number.NaN;

  add(adapterMs: number, arrivalNs: number, segment: number): void {
    if (Number.isNaN(adapterMs)) {
      this.#addUnstamped(arrivalNs, segment);
      return;
    }
    const bin = Math.floor(adapterMs / CLOCK_BIN_MS);
    const delayMs = arrivalNs / 1e6 - adapterMs;
    if (bin !== this.#bin || segment !== this.#segment || this.#rows.length === 0) {
      this.#bin = bin;
      this.#segment = segment;
      this.#leastDelayMs = Infinity;
      this.#write(this.#rows.addRow(), adapterMs, arrivalNs, segment);
      this.#row = this.#rows.length - 1;
    } else if (delayMs < this.#leastDelayMs) this.#write(this.#row, adapterMs, arrivalNs, segment);
    this.#leastDelayMs = Math.min(this.#leastDelayMs, delayMs);
  }
  #row = 0;

  /** The clock fit must know that there were frames without stamps, so one row is kept for each stretch of arrival time. */
  #addUnstamped(arrivalNs: number, segment: number): void {
    const bin = Math.floor(arrivalNs / 1e6 / CLOCK_BIN_MS);
    if (bin === this.#unstampedBin) return;
    this.#unstampedBin = bin;
    this.#write(this.#rows.addRow(), Number.NaN, arrivalNs, segment);
  }

  #write(row: number, adapterMs: number, arrivalNs: number, segment: number): void {
    this.#rows.set(ARRIVAL, row, arrivalNs);
    this.#rows.set(ADAPTER, row, adapterMs);
    this.#rows.setSegment(row, segment);
  }

  dropBefore(arrivalNs: number): void {
    this.#rows.dropBelow(ARRIVAL, arrivalNs);
    this.#bin = Number.NaN;
  }

  observations(): ClockObservations {
    return { adapterMs: this.#rows.copy(ADAPTER), arrivalNs: this.#rows.copy(ARRIVAL), clockSegment: this.#rows.copySegments() };
  }
}
