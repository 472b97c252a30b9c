/** Which calibration holds for a set-up: the one that Car names, and a new recording starts from. Null where no drive of this set-up has calibrated it. */
import type { Book, StoredCalibration } from "../../ports/book.ts";

/** `setUp`: the set-up file's text. A recording too short to tell the radius takes nothing away from an earlier one that told it. */
export function knownCalibration(book: Book, setUp: string): StoredCalibration | null {
  for (const recording of book.recordings().reverse()) {
    if (recording.setUp.text !== setUp) continue;
    const stored = book.newestCalibration(recording.id);
    if (stored?.calibration.rollingRadiusM.from === "calibrated") return stored;
  }
  return null;
}
