/**
 * Calibrations in the book; none is ever deleted. A damaged one is left out of every list, so that the next one is used or a new one
 * fitted; asked for by id it throws BookError.
 */
import type { Database } from "better-sqlite3";
import type { Calibration } from "../../../shared/align/calibration.ts";
import { type Book, BookError, type StoredCalibration } from "../../ports/book.ts";
import { fromExactJson, toExactJson } from "./exact-json.ts";
import { orDamaged } from "./run-ids.ts";
import type { Seals } from "./sqlite-seals.ts";

type CalibrationsPart = Pick<
  Book,
  "addCalibration" | "calibration" | "calibrations" | "newestCalibration" | "badCalibrations" | "mendCalibration" | "priorCalibration"
>;

interface Row {
  id: number;
  recording: number;
  fitted: string;
}

export function createCalibrationsPart(db: Database, file: string, seals: Seals): CalibrationsPart {
  /** Null for a damaged one. */
  function read({ id, recording, fitted }: Row): StoredCalibration | null {
    if (!seals.isWhole("calibration", id)) return null;
    try {
      return { id, recording, calibration: fromExactJson(fitted) as Calibration };
    } catch (error) {
      if (error instanceof SyntaxError) return null;
      throw error;
    }
  }

  const rowsOf = (recording: number) => db.prepare("SELECT * FROM calibration WHERE recording = ? ORDER BY id").all(recording) as Row[];
  const whole = (rows: readonly Row[]) => rows.map(read).filter((one) => one !== null);

  return {
    addCalibration: db.transaction((recording: number, calibration: Calibration) => {
      const { lastInsertRowid } = db
        .prepare("INSERT INTO calibration (recording, fitted) VALUES (?, ?)")
        .run(recording, toExactJson(calibration));
      const id = Number(lastInsertRowid);
      seals.seal("calibration", id);
      return { id, recording, calibration };
    }),
    calibration(id) {
      const row = db.prepare("SELECT * FROM calibration WHERE id = ?").get(id) as Row | undefined;
      if (row === undefined) throw new BookError("notFound", `Book ${file}: no calibration ${id}`);
      const stored = read(row);
      if (stored === null) throw new BookError("damaged", `Book ${file}: calibration ${id} is damaged; \`rederive\` fits it again`);
      return stored;
    },
    calibrations: (recording) => whole(rowsOf(recording)),
    newestCalibration: (recording) => whole(rowsOf(recording)).at(-1) ?? null,
    badCalibrations: (recording) =>
      rowsOf(recording)
        .filter((row) => read(row) === null)
        .map(({ id }) => id),
    mendCalibration: db.transaction((id: number, calibration: Calibration) => {
      db.prepare("UPDATE calibration SET fitted = ? WHERE id = ?").run(toExactJson(calibration), id);
      seals.seal("calibration", id);
    }),
    priorCalibration: (recording) =>
      // Behind a page that cannot be read there is none: a recording that begins does not wait for it.
      orDamaged(null, () => {
        const rows = db
          .prepare(
            `SELECT calibration.* FROM calibration JOIN recording AS before ON before.id = calibration.recording
             JOIN recording AS now ON now.set_up = before.set_up WHERE now.id = ? AND before.id <> now.id ORDER BY calibration.id`,
          )
          .all(recording) as Row[];
        return whole(rows).at(-1) ?? null;
      }),
  };
}
