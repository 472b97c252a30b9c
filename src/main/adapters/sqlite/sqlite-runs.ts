/** Runs and their samples in the book. Nothing is deleted: every edit is stored with the value before. An unknown run throws BookError. */
import { byWord, ofWord } from "../../../shared/kernel/by-word.ts";
import type { Database } from "better-sqlite3";
import type { Flag } from "../../../shared/run/run.ts";
import { type Book, BookError, type RunFigures, type RunWrite, type StoredRun } from "../../ports/book.ts";
import { toExactJson } from "./exact-json.ts";
import { mendRuns } from "./mend-runs.ts";
import { mendSamples } from "./mend-samples.ts";
import { knownRuns } from "./run-ids.ts";
import { createRunRows } from "./sqlite-run-rows.ts";
import type { KeepEdit } from "./sqlite-settings.ts";
import type { Seals } from "./sqlite-seals.ts";
import { createStoredSamples } from "./sqlite-samples.ts";

type RunsPart = Pick<
  Book,
  | "addRun"
  | "replaceRun"
  | "markLost"
  | "runs"
  | "names"
  | "mendRuns"
  | "mendSamples"
  | "badRuns"
  | "runsOf"
  | "run"
  | "samples"
  | "sampleColumns"
  | "setLabel"
  | "setReview"
  | "setConditions"
  | "setOverruled"
  | "keepFile"
  | "keptFile"
>;

interface EditTools {
  readonly db: Database;
  readonly seals: Seals;
  readonly keepEdit: KeepEdit;
  readonly run: (id: number) => StoredRun;
}

/** What people say about runs, and the files they keep with them. */
function wordEdits({
  db,
  seals,
  keepEdit,
  run,
}: EditTools): Pick<RunsPart, "setLabel" | "setReview" | "setConditions" | "setOverruled" | "keepFile" | "keptFile"> {
  return {
    setLabel: db.transaction((id: number, label: string, utcUs: number) => {
      keepEdit(id, "label", run(id).label, label, utcUs);
      db.prepare("UPDATE run SET label = ? WHERE id = ?").run(label, id);
      seals.seal("words", id);
    }),
    setReview: db.transaction((id: number, review: { use: boolean; note: string }, utcUs: number) => {
      const { use, note } = run(id);
      keepEdit(id, "review", { use, note }, review, utcUs);
      db.prepare("UPDATE run SET use = ?, note = ? WHERE id = ?").run(review.use ? 1 : 0, review.note, id);
      seals.seal("words", id);
    }),
    setConditions: db.transaction((id: number, set: Readonly<Record<string, string | null>>, utcUs: number) => {
      const { conditions } = run(id);
      keepEdit(id, "conditions", byWord(Object.keys(set).map((key) => [key, ofWord(conditions, key) ?? null])), set, utcUs);
      for (const [key, value] of Object.entries(set)) {
        if (value === null) db.prepare("DELETE FROM condition WHERE run = ? AND key = ?").run(id, key);
        else
          db.prepare("INSERT INTO condition VALUES (?, ?, ?) ON CONFLICT (run, key) DO UPDATE SET value = excluded.value").run(
            id,
            key,
            value,
          );
      }
      seals.seal("words", id);
    }),
    setOverruled: db.transaction((id: number, flag: string, note: string | null, utcUs: number) => {
      keepEdit(id, `overruled ${flag}`, ofWord(run(id).overruled, flag) ?? null, note, utcUs);
      db.prepare("DELETE FROM overrule WHERE run = ? AND flag = ?").run(id, flag);
      if (note !== null) db.prepare("INSERT INTO overrule VALUES (?, ?, ?)").run(id, flag, note);
      seals.seal("words", id);
    }),
    keepFile({ sha256, name, bytes }) {
      db.prepare("INSERT INTO kept_file VALUES (?, ?, ?) ON CONFLICT (sha256) DO UPDATE SET bytes = excluded.bytes").run(
        sha256,
        name,
        bytes,
      );
    },
    keptFile(sha256) {
      const row = db.prepare("SELECT name, bytes FROM kept_file WHERE sha256 = ?").get(sha256) as
        | { name: string; bytes: Uint8Array }
        | undefined;
      return row === undefined ? null : { sha256, ...row };
    },
  };
}

export function createRunsPart(db: Database, file: string, seals: Seals, keepEdit: KeepEdit): RunsPart {
  const rows = createRunRows(db, file, seals);
  const stored = createStoredSamples(db, file);

  function run(id: number): StoredRun {
    const found = rows.one(id);
    if (found === null) throw new BookError("notFound", `Run ${id} is not in this book; \`runs\` lists those that are`);
    return found;
  }

  function sealFigures(id: number): void {
    rows.written(id);
    seals.seal("figures", id);
  }

  const movementNs = (figures: RunFigures) => Math.round(figures.movementS * 1e9);

  return {
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
      seals.sealAs("samples", id, stored.write(id, write));
      for (const [key, value] of Object.entries(write.conditions ?? {}))
        db.prepare("INSERT INTO condition VALUES (?, ?, ?)").run(id, key, value);
      seals.seal("words", id);
      sealFigures(id);
      return id;
    }),
    replaceRun: db.transaction((id: number, write: RunWrite) => {
      db.prepare(
        // One that lost its page (mend-runs.ts) has no figures yet, and its label where nobody wrote one is what is derived.
        `UPDATE run SET uid = ?, label = iif(derived = '' AND label = '', ?, label), final = ?, found = 1, movement_ns = ?, calibration = ?,
          derived = ?, role_units = ?, print = ? WHERE id = ?`,
      ).run(
        write.uid,
        write.label,
        write.final ? 1 : 0,
        movementNs(write.figures),
        write.calibration,
        toExactJson(write.figures),
        JSON.stringify(write.roleUnits),
        JSON.stringify(write.print),
        id,
      );
      seals.sealAs("samples", id, stored.write(id, write));
      seals.seal("words", id);
      sealFigures(id);
    }),
    markLost: db.transaction((id: number, lost: Flag) => {
      const { figures } = run(id);
      const flags = [...figures.flags.filter((flag) => flag.why !== lost.why), lost];
      db.prepare("UPDATE run SET found = 0, derived = ? WHERE id = ?").run(toExactJson({ ...figures, flags }), id);
      sealFigures(id);
    }),
    runs: rows.all,
    badRuns: rows.bad,
    names: () => new Set(knownRuns(db).flatMap(({ uid }) => uid ?? [])),
    mendRuns: () => mendRuns(db),
    mendSamples: () => mendSamples(db),
    runsOf: rows.of,
    run,
    samples(id, wanted) {
      const { roleUnits } = run(id);
      return stored.read(id, wanted === undefined ? roleUnits : byWord(Object.entries(roleUnits).filter(([role]) => wanted(role))));
    },
    sampleColumns: (id, names) => stored.readSome(id, run(id).roleUnits, names),
    ...wordEdits({ db, seals, keepEdit, run }),
  };
}
