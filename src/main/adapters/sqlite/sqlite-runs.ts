/** Runs, their samples, calibrations and edits in the book. Nothing is deleted: every edit is kept with what stood before. An unknown run throws BookError. */
import type { Database } from "better-sqlite3";
import type { Calibration } from "../../../shared/align/calibration.ts";
import type { Flag } from "../../../shared/run/run.ts";
import {
  type Book,
  BookError,
  type Edit,
  type RunFigures,
  type RunWrite,
  type StoredCalibration,
  type StoredRun,
} from "../../ports/book.ts";
import { fromExactJson, toExactJson } from "./exact-json.ts";
import { createRunRows } from "./sqlite-run-rows.ts";
import { createStoredSamples } from "./sqlite-samples.ts";

type RunsPart = Pick<
  Book,
  | "addCalibration"
  | "calibration"
  | "calibrations"
  | "newestCalibration"
  | "priorCalibration"
  | "addRun"
  | "replaceRun"
  | "markLost"
  | "runs"
  | "names"
  | "runsOf"
  | "run"
  | "samples"
  | "sampleRows"
  | "setLabel"
  | "setReview"
  | "setConditions"
  | "setOverruled"
  | "keepFile"
  | "keptFile"
  | "edits"
  | "setting"
  | "setSetting"
>;

export function createRunsPart(db: Database, file: string): RunsPart {
  const rows = createRunRows(db);
  const stored = createStoredSamples(db, file);

  function run(id: number): StoredRun {
    const found = rows.one(id);
    if (found === null) throw new BookError("notFound", `Run ${id} is not in this book; \`runs\` lists those that are`);
    return found;
  }

  function setting(key: string): unknown {
    const value = db.prepare("SELECT value FROM setting WHERE key = ?").pluck().get(key) as string | undefined;
    return value === undefined ? null : JSON.parse(value);
  }

  const movementNs = (figures: RunFigures) => Math.round(figures.movementS * 1e9);

  function keepEdit(id: number | null, what: string, before: unknown, after: unknown, utcUs: number): void {
    db.prepare("INSERT INTO edit (utc_ns, run, what, before, after) VALUES (?, ?, ?, ?, ?)").run(
      BigInt(utcUs) * 1000n,
      id,
      what,
      JSON.stringify(before),
      JSON.stringify(after),
    );
  }

  function toCalibration(row: unknown): StoredCalibration {
    const { id, recording, fitted } = row as { id: number; recording: number; fitted: string };
    return { id, recording, calibration: fromExactJson(fitted) as Calibration };
  }

  return {
    addCalibration(recording, calibration) {
      const { lastInsertRowid } = db
        .prepare("INSERT INTO calibration (recording, fitted) VALUES (?, ?)")
        .run(recording, toExactJson(calibration));
      return { id: Number(lastInsertRowid), recording, calibration };
    },
    calibration(id) {
      const row = db.prepare("SELECT * FROM calibration WHERE id = ?").get(id);
      if (row === undefined) throw new BookError("notFound", `Book ${file}: no calibration ${id}`);
      return toCalibration(row);
    },
    calibrations: (recording) => db.prepare("SELECT * FROM calibration WHERE recording = ? ORDER BY id").all(recording).map(toCalibration),
    newestCalibration(recording) {
      const row = db.prepare("SELECT * FROM calibration WHERE recording = ? ORDER BY id DESC LIMIT 1").get(recording);
      return row === undefined ? null : toCalibration(row);
    },
    priorCalibration(recording) {
      const row = db
        .prepare(
          `SELECT calibration.* FROM calibration JOIN recording AS before ON before.id = calibration.recording
           JOIN recording AS now ON now.set_up = before.set_up WHERE now.id = ? AND before.id <> now.id ORDER BY calibration.id DESC LIMIT 1`,
        )
        .get(recording);
      return row === undefined ? null : toCalibration(row);
    },
    addRun: db.transaction((write: RunWrite): number => {
      const { lastInsertRowid } = db
        .prepare(
          "INSERT INTO run (uid, recording, final, label, use, note, movement_ns, calibration, derived, role_units, print) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        )
        .run(
          write.uid,
          write.recording,
          write.final ? 1 : 0,
          write.label,
          write.aside === undefined ? 1 : 0,
          write.aside ?? "",
          movementNs(write.figures),
          write.calibration,
          toExactJson(write.figures),
          JSON.stringify(write.roleUnits),
          JSON.stringify(write.print),
        );
      const id = Number(lastInsertRowid);
      stored.write(id, write);
      for (const [key, value] of Object.entries(write.conditions ?? {}))
        db.prepare("INSERT INTO condition VALUES (?, ?, ?)").run(id, key, value);
      return id;
    }),
    replaceRun: db.transaction((id: number, write: RunWrite) => {
      db.prepare(
        "UPDATE run SET uid = ?, final = ?, found = 1, movement_ns = ?, calibration = ?, derived = ?, role_units = ?, print = ? WHERE id = ?",
      ).run(
        write.uid,
        write.final ? 1 : 0,
        movementNs(write.figures),
        write.calibration,
        toExactJson(write.figures),
        JSON.stringify(write.roleUnits),
        JSON.stringify(write.print),
        id,
      );
      rows.written(id);
      stored.write(id, write);
    }),
    markLost: db.transaction((id: number, lost: Flag) => {
      const { figures } = run(id);
      const flags = [...figures.flags.filter((flag) => flag.why !== lost.why), lost];
      db.prepare("UPDATE run SET found = 0, derived = ? WHERE id = ?").run(toExactJson({ ...figures, flags }), id);
      rows.written(id);
    }),
    runs: rows.all,
    names: () => new Set(db.prepare("SELECT uid FROM run").pluck().all() as string[]),
    runsOf: rows.of,
    run,
    samples: (id) => stored.read(id, run(id).roleUnits),
    sampleRows: (id) => stored.readRows(id, run(id).roleUnits),
    setLabel: db.transaction((id: number, label: string, utcUs: number) => {
      keepEdit(id, "label", run(id).label, label, utcUs);
      db.prepare("UPDATE run SET label = ? WHERE id = ?").run(label, id);
    }),
    setReview: db.transaction((id: number, review: { use: boolean; note: string }, utcUs: number) => {
      const { use, note } = run(id);
      keepEdit(id, "review", { use, note }, review, utcUs);
      db.prepare("UPDATE run SET use = ?, note = ? WHERE id = ?").run(review.use ? 1 : 0, review.note, id);
    }),
    setConditions: db.transaction((id: number, set: Readonly<Record<string, string | null>>, utcUs: number) => {
      const { conditions } = run(id);
      keepEdit(id, "conditions", Object.fromEntries(Object.keys(set).map((key) => [key, conditions[key] ?? null])), set, utcUs);
      for (const [key, value] of Object.entries(set)) {
        if (value === null) db.prepare("DELETE FROM condition WHERE run = ? AND key = ?").run(id, key);
        else
          db.prepare("INSERT INTO condition VALUES (?, ?, ?) ON CONFLICT (run, key) DO UPDATE SET value = excluded.value").run(
            id,
            key,
            value,
          );
      }
    }),
    setOverruled: db.transaction((id: number, flag: string, note: string | null, utcUs: number) => {
      keepEdit(id, `overruled ${flag}`, run(id).overruled[flag] ?? null, note, utcUs);
      db.prepare("DELETE FROM overrule WHERE run = ? AND flag = ?").run(id, flag);
      if (note !== null) db.prepare("INSERT INTO overrule VALUES (?, ?, ?)").run(id, flag, note);
    }),
    keepFile({ sha256, name, bytes }) {
      db.prepare("INSERT INTO kept_file VALUES (?, ?, ?) ON CONFLICT (sha256) DO NOTHING").run(sha256, name, bytes);
    },
    keptFile(sha256) {
      const row = db.prepare("SELECT name, bytes FROM kept_file WHERE sha256 = ?").get(sha256) as
        | { name: string; bytes: Uint8Array }
        | undefined;
      return row === undefined ? null : { sha256, ...row };
    },
    setting,
    setSetting: db.transaction((key: string, value: unknown, utcUs: number) => {
      keepEdit(null, `setting ${key}`, setting(key), value, utcUs);
      db.prepare("INSERT INTO setting VALUES (?, ?) ON CONFLICT (key) DO UPDATE SET value = excluded.value").run(
        key,
        JSON.stringify(value),
      );
    }),
    edits: (id) =>
      (
        db.prepare("SELECT run, what, before, after, utc_ns / 1000 AS utcUs FROM edit WHERE run IS ? ORDER BY id").all(id) as {
          run: number | null;
          what: string;
          before: string;
          after: string;
          utcUs: number;
        }[]
      ).map(({ before, after, ...rest }): Edit => ({ ...rest, before: JSON.parse(before), after: JSON.parse(after) })),
  };
}
