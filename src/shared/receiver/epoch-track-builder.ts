/**
 * Collects epochs into columns that grow as needed. Before a date is known, UTC is the time of day counted on past midnight; once it is
 * known, the earlier epochs are moved to it. Never throws.
 */
import { DAY_MS } from "../kernel/civil-date.ts";
import type { Epoch } from "./epoch-draft.ts";
import { GrowingColumns } from "../signals/growing-column.ts";
import type { EpochTrack, Fix } from "../signals/tracks.ts";

const COLUMNS = [
  "arrivalNs",
  "burstBytes",
  "utcMs",
  "speedMps",
  "speedQuantumMps",
  "courseDeg",
  "latDeg",
  "lonDeg",
  "altM",
  "hdop",
  "satellites",
] as const;
const UTC = COLUMNS.indexOf("utcMs");

export interface EpochTrackBuilder {
  add(epoch: Epoch): void;
  /** A copy of all columns. */
  track(): EpochTrack;
  /** Drops epochs that arrived before, so that a live session needs bounded memory. */
  dropBefore(arrivalNs: number): void;
  readonly length: number;
}

/** An empty track that grows. */
export function createEpochTrackBuilder(): EpochTrackBuilder {
  return new Builder();
}

class Builder implements EpochTrackBuilder {
  readonly #columns = new GrowingColumns(COLUMNS.length);
  #fix: Fix[] = [];
  #dated = false;
  #undatedMs = Number.NaN;

  get length(): number {
    return this.#columns.length;
  }

  add(epoch: Epoch): void {
    const row = this.#columns.addRow();
    COLUMNS.forEach((name, column) => {
      this.#columns.set(column, row, epoch[name]);
    });
    this.#fix.push(epoch.fix ?? "none");
    if (Number.isNaN(epoch.utcMs) && !Number.isNaN(epoch.timeOfDayMs)) {
      this.#columns.set(UTC, row, this.#continued(epoch.timeOfDayMs));
    } else if (!this.#dated && !Number.isNaN(epoch.utcMs)) {
      const moveMs = epoch.utcMs - this.#continued(epoch.timeOfDayMs);
      for (let i = 0; i < row; i++) this.#columns.set(UTC, i, this.#columns.at(UTC, i) + moveMs);
      this.#dated = true;
    }
  }

  #continued(timeOfDayMs: number): number {
    // The time of day nearest to the one before: midnight is a small step forward, an epoch out of order a small one back.
    const turns = Number.isNaN(this.#undatedMs) ? 0 : Math.round((this.#undatedMs - timeOfDayMs) / DAY_MS);
    this.#undatedMs = timeOfDayMs + turns * DAY_MS;
    return this.#undatedMs;
  }

  track(): EpochTrack {
    const copy = (name: (typeof COLUMNS)[number]) => this.#columns.copy(COLUMNS.indexOf(name));
    return {
      arrivalNs: copy("arrivalNs"),
      burstBytes: copy("burstBytes"),
      utcMs: copy("utcMs"),
      dated: this.#dated,
      speedMps: copy("speedMps"),
      speedQuantumMps: copy("speedQuantumMps"),
      courseDeg: copy("courseDeg"),
      latDeg: copy("latDeg"),
      lonDeg: copy("lonDeg"),
      altM: copy("altM"),
      hdop: copy("hdop"),
      satellites: copy("satellites"),
      fix: this.#fix.slice(),
    };
  }

  dropBefore(arrivalNs: number): void {
    const before = this.#columns.length;
    this.#columns.dropBelow(COLUMNS.indexOf("arrivalNs"), arrivalNs);
    this.#fix = this.#fix.slice(before - this.#columns.length);
  }
}
