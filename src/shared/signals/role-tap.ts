/**
 * Taps the signals that play a role out of batches of frames, as columns in SI units, and keeps what the clock fit
 * needs of all frames. Linear work; memory grows with what is kept until `dropBefore`. A value whose text says that
 * there is none is left out and counted. Creating one throws RoleError where a choice cannot hold.
 */
import { FRAME_EXTENDED, FRAME_REMOTE, type FrameBatch } from "../frames/frame-batch.ts";
import type { ListRole, SingleRole } from "../setup/roles.ts";
import type { SetUp } from "../setup/set-up.ts";
import { frameKey, isPresent, physicalValue, type SignalDatabase } from "./dbc-decode.ts";
import { GrowingColumns } from "./growing-column.ts";
import { bindRoles, isListRole, type RoleBinding, roleValue } from "./role-binding.ts";
import { rawNumber } from "./signal-bits.ts";
import type { ClockObservations, RoleTracks, SignalTrack } from "./tracks.ts";

/** Adapter time for which one observation of its clock is kept, ms. */
const CLOCK_BIN_MS = 250;

const ARRIVAL = 0;
const ADAPTER = 1;
const VALUE = 2;

/** The newest value of a signal in a role. */
export interface LatestValue {
  readonly name: string;
  readonly unit: string;
  readonly value: number;
  readonly arrivalNs: number;
}

/** Newest values by role; a role without any yet is absent, and so is such a sensor in a list (null holds its place). */
export type LatestValues = { [role in SingleRole]?: LatestValue } & { [role in ListRole]?: (LatestValue | null)[] };

export interface RoleTap {
  push(batch: FrameBatch): void;
  /** Copies of all columns kept. */
  tracks(): { readonly roles: RoleTracks; readonly busClock: ClockObservations };
  latest(): LatestValues;
  /** Lets go of what arrived before, so that a live session stays bounded. The newest values stay. */
  dropBefore(arrivalNs: number): void;
  /** Values left out because their text says that there is none, or because they were no number. */
  readonly unknownValues: number;
}

/** A tap for the set-up's roles on these signal files. Throws RoleError. */
export function createRoleTap(database: SignalDatabase, setUp: Pick<SetUp, "signals">): RoleTap {
  return new Tap(bindRoles(database, setUp.signals));
}

interface TappedSignal {
  readonly binding: RoleBinding;
  readonly columns: GrowingColumns;
  latest: LatestValue | null;
}

class Tap implements RoleTap {
  unknownValues = 0;
  readonly #signals: readonly TappedSignal[];
  /** By 11-bit id; most buses have nothing else. */
  readonly #standard: (TappedSignal[] | undefined)[] = new Array(0x800).fill(undefined);
  readonly #extended = new Map<number, TappedSignal[]>();
  readonly #clock = new ClockBins();

  constructor(bindings: readonly RoleBinding[]) {
    this.#signals = bindings.map((binding) => ({ binding, columns: new GrowingColumns(3), latest: null }));
    for (const signal of this.#signals) {
      const { id, extended } = signal.binding.decoder.message;
      const key = frameKey(id, extended);
      const list = (extended ? this.#extended.get(key) : this.#standard[id]) ?? [];
      list.push(signal);
      if (extended) this.#extended.set(key, list);
      else this.#standard[id] = list;
    }
  }

  push(batch: FrameBatch): void {
    for (let row = 0; row < batch.length; row++) {
      this.#clock.add(batch.adapterMs[row], batch.arrivalNs[row], batch.clockSegment[row]);
      const flags = batch.flags[row];
      if ((flags & FRAME_REMOTE) !== 0) continue;
      const signals = (flags & FRAME_EXTENDED) !== 0 ? this.#extended.get(frameKey(batch.id[row], true)) : this.#standard[batch.id[row]];
      if (signals !== undefined) for (const signal of signals) this.#add(signal, batch, row);
    }
  }

  #add(tapped: TappedSignal, batch: FrameBatch, row: number): void {
    const { binding, columns } = tapped;
    const { decoder } = binding;
    if (!isPresent(decoder, batch, row)) return;
    if (binding.noValue.size > 0 && binding.noValue.has(rawNumber(decoder.place, batch, row))) {
      this.unknownValues += 1;
      return;
    }
    const value = roleValue(binding, physicalValue(decoder, batch, row));
    if (!Number.isFinite(value)) {
      this.unknownValues += 1;
      return;
    }
    const at = columns.addRow();
    columns.set(ARRIVAL, at, batch.arrivalNs[row]);
    columns.set(ADAPTER, at, batch.adapterMs[row]);
    columns.set(VALUE, at, value);
    columns.setSegment(at, batch.clockSegment[row]);
  }

  tracks(): { roles: RoleTracks; busClock: ClockObservations } {
    const roles: RoleTracks = {};
    for (const { binding, columns } of this.#signals) {
      const track: SignalTrack = {
        name: binding.decoder.name,
        arrivalNs: columns.copy(ARRIVAL),
        adapterMs: columns.copy(ADAPTER),
        clockSegment: columns.copySegments(),
        value: columns.copy(VALUE),
        quantum: binding.quantum,
        unit: binding.conversion.unit,
      };
      const { role } = binding;
      if (isListRole(role)) (roles[role] ??= []).push(track);
      else roles[role] = track;
    }
    return { roles, busClock: this.#clock.observations() };
  }

  latest(): LatestValues {
    const values: LatestValues = {};
    for (const tapped of this.#signals) {
      const newest = newestOf(tapped);
      const { role } = tapped.binding;
      if (isListRole(role)) (values[role] ??= []).push(newest);
      else if (newest !== null) values[role] = newest;
    }
    return values;
  }

  dropBefore(arrivalNs: number): void {
    for (const tapped of this.#signals) {
      tapped.latest = newestOf(tapped);
      tapped.columns.dropBelow(ARRIVAL, arrivalNs);
    }
    this.#clock.dropBefore(arrivalNs);
  }
}

function newestOf({ binding, columns, latest }: TappedSignal): LatestValue | null {
  if (columns.length === 0) return latest;
  const row = columns.length - 1;
  return { name: binding.decoder.name, unit: binding.conversion.unit, value: columns.at(VALUE, row), arrivalNs: columns.at(ARRIVAL, row) };
}

/** One observation for each bin of adapter time: the frame that arrived with the least delay. */
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

  /** The clock fit must see that frames without stamps were there: one row for each stretch of arrival time. */
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
