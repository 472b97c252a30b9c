/**
 * The calibration in use for a set-up: Car shows it, and a new recording starts from it. Null where no driving with this set-up has
 * calibrated it.
 */
import { type Book, BookError, type Recording, type StoredCalibration } from "../../ports/book.ts";

/** Null also where the recording's set-up or its calibrations cannot be read: the others are looked through, and `check` names it. */
function calibratedBy(book: Book, recording: Recording, setUp: string): StoredCalibration | null {
  try {
    return recording.setUp.text === setUp ? book.newestCalibration(recording.id) : null;
  } catch (error) {
    if (error instanceof BookError && error.code === "damaged") return null;
    throw error;
  }
}

/** `setUp`: the set-up file's text. A recording too short to determine the radius does not replace an earlier calibration that did. */
export function knownCalibration(book: Book, setUp: string): StoredCalibration | null {
  for (const recording of book.recordings().reverse()) {
    const stored = calibratedBy(book, recording, setUp);
    if (stored?.calibration.rollingRadiusM.from === "calibrated") return stored;
  }
  return null;
}
