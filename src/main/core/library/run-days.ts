/** The day each stored run was driven on, in the order of `runs`: by the receiver's stamps, else by this machine's clock. */
import { drivingDays } from "../../../shared/run/driving-days.ts";
import type { Book, StoredRun } from "../../ports/book.ts";

/** `runs`: stored runs of the book; a day is told by all of them together. */
export function runDays(book: Book, runs: readonly StoredRun[]): (string | null)[] {
  const base = new Map(book.recordings().map(({ id, baseUtcUs }) => [id, baseUtcUs]));
  return drivingDays(
    runs.map(({ recording, figures: { startedAtUtcMs, movementS, slopeSigns } }) => {
      const startedAtMs = startedAtUtcMs ?? (base.get(recording) ?? Number.NaN) / 1000 + movementS * 1000;
      return { startedAtMs: Number.isFinite(startedAtMs) ? startedAtMs : null, lonDeg: slopeSigns?.place?.lonDeg ?? null };
    }),
  );
}
