/**
 * The book's tables as each version of the schema made them. Never edit these: books of those versions are on people's disks. A change is a
 * new version at the end, with a book of it in test/fixtures/books. This file imports nothing.
 */

const VERSION_1 = `
CREATE TABLE set_up (id INTEGER PRIMARY KEY, sha256 TEXT NOT NULL UNIQUE, text TEXT NOT NULL) STRICT;
CREATE TABLE signal_file (set_up INTEGER NOT NULL REFERENCES set_up, position INTEGER NOT NULL, name TEXT NOT NULL, text TEXT NOT NULL,
  PRIMARY KEY (set_up, position)) STRICT, WITHOUT ROWID;
CREATE TABLE recording (id INTEGER PRIMARY KEY, uid TEXT NOT NULL UNIQUE, origin TEXT NOT NULL CHECK (origin IN ('live', 'import', 'simulated')),
  base_utc_ns INTEGER NOT NULL, end_ns INTEGER, state TEXT NOT NULL CHECK (state IN ('open', 'closed', 'interrupted')),
  derived INTEGER NOT NULL DEFAULT 0, can_format TEXT NOT NULL CHECK (can_format IN ('slcan', 'candump')), set_up INTEGER NOT NULL REFERENCES set_up) STRICT;
CREATE TABLE journal (recording INTEGER NOT NULL REFERENCES recording, block INTEGER NOT NULL, from_ns INTEGER NOT NULL, to_ns INTEGER NOT NULL,
  gnss_first INTEGER NOT NULL, gnss_count INTEGER NOT NULL, can_first INTEGER NOT NULL, can_count INTEGER NOT NULL,
  line_ns INTEGER NOT NULL, crc32 INTEGER NOT NULL, packets BLOB NOT NULL, PRIMARY KEY (recording, block)) STRICT;
CREATE TABLE gap (recording INTEGER NOT NULL REFERENCES recording, stream TEXT NOT NULL CHECK (stream IN ('gnss', 'can')),
  from_ns INTEGER NOT NULL, to_ns INTEGER NOT NULL, cause TEXT NOT NULL) STRICT;
CREATE INDEX gap_recording ON gap (recording);
CREATE TABLE clock_sample (recording INTEGER NOT NULL REFERENCES recording, at_ns INTEGER NOT NULL, utc_ns INTEGER NOT NULL) STRICT;
CREATE INDEX clock_sample_recording ON clock_sample (recording, at_ns);
CREATE TABLE mark (id INTEGER PRIMARY KEY, recording INTEGER NOT NULL REFERENCES recording, at_ns INTEGER NOT NULL, kind TEXT NOT NULL, text TEXT NOT NULL) STRICT;
CREATE INDEX mark_recording ON mark (recording);
CREATE TABLE calibration (id INTEGER PRIMARY KEY, recording INTEGER NOT NULL REFERENCES recording, fitted TEXT NOT NULL) STRICT;
CREATE TABLE run (id INTEGER PRIMARY KEY, uid TEXT NOT NULL UNIQUE, recording INTEGER NOT NULL REFERENCES recording, final INTEGER NOT NULL,
  found INTEGER NOT NULL DEFAULT 1, label TEXT NOT NULL, use INTEGER NOT NULL DEFAULT 1, note TEXT NOT NULL DEFAULT '', movement_ns INTEGER NOT NULL,
  calibration INTEGER REFERENCES calibration, derived TEXT NOT NULL, role_units TEXT NOT NULL, print TEXT NOT NULL) STRICT;
CREATE INDEX run_recording ON run (recording);
CREATE TABLE condition (run INTEGER NOT NULL REFERENCES run, key TEXT NOT NULL, value TEXT NOT NULL, PRIMARY KEY (run, key)) STRICT, WITHOUT ROWID;
CREATE TABLE setting (key TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT, WITHOUT ROWID;
CREATE TABLE edit (id INTEGER PRIMARY KEY, utc_ns INTEGER NOT NULL, run INTEGER REFERENCES run, what TEXT NOT NULL, before TEXT NOT NULL, after TEXT NOT NULL) STRICT;
CREATE TABLE sample (run INTEGER NOT NULL REFERENCES run, row INTEGER NOT NULL, "tS" REAL, "groundSpeedMps" REAL, "groundSpeedSigmaMps" REAL, "wheelSpeedMps" REAL, "slipSpeedMps" REAL, "slipRatio" REAL, "slipSigma" REAL, "distanceM" REAL, "accelerationMps2" REAL, "motorSpeed" REAL, "torqueRequest" REAL, "torqueCommand" REAL, "torqueDelivered" REAL, "pedal" REAL, "stateOfCharge" REAL, "tractionControlEnabled" REAL, "tractionControlActive" REAL, "brake" REAL, "torqueLimit" REAL, "batteryVoltage" REAL, "batteryCurrent" REAL, "motorTemperature" REAL, "inverterTemperature" REAL, "batteryTemperature" REAL, "longitudinalAcceleration" REAL, "drivenWheelSpeeds.0" REAL, "drivenWheelSpeeds.1" REAL, "drivenWheelSpeeds.2" REAL, "drivenWheelSpeeds.3" REAL, "undrivenWheelSpeeds.0" REAL, "undrivenWheelSpeeds.1" REAL, "undrivenWheelSpeeds.2" REAL, "undrivenWheelSpeeds.3" REAL, PRIMARY KEY (run, row)) STRICT, WITHOUT ROWID;
CREATE VIEW gate_time AS SELECT run.id AS run, run.label AS label, json_extract(g.value, '$.gate') AS gate, json_extract(g.value, '$.start') AS start,
  json_extract(g.value, '$.seconds') AS seconds, json_extract(g.value, '$.plusMinus95') AS plus_minus_95, json_extract(g.value, '$.why') AS why
  FROM run, json_each(run.derived, '$.gates') AS g;
`;

/** Every plan that was used, and which run filled which slot; "again": a person wants that slot driven once more. */
const VERSION_2 = `
CREATE TABLE plan (id INTEGER PRIMARY KEY, utc_ns INTEGER NOT NULL, after_run INTEGER NOT NULL, drawn TEXT NOT NULL) STRICT;
CREATE TABLE plan_run (plan INTEGER NOT NULL REFERENCES plan, run INTEGER NOT NULL REFERENCES run, slot INTEGER NOT NULL,
  again INTEGER NOT NULL DEFAULT 0, PRIMARY KEY (plan, run)) STRICT, WITHOUT ROWID;
`;

/** Flags that a person overruled, each with the reason; and files that people keep with a run, under their own hash. */
const VERSION_3 = `
CREATE TABLE overrule (run INTEGER NOT NULL REFERENCES run, flag TEXT NOT NULL, note TEXT NOT NULL, PRIMARY KEY (run, flag)) STRICT, WITHOUT ROWID;
CREATE TABLE kept_file (sha256 TEXT PRIMARY KEY, name TEXT NOT NULL, bytes BLOB NOT NULL) STRICT;
`;

/**
 * A second copy of a run's samples, column after column (sqlite-samples.ts), read ten times as fast as rows; whoever changes rows removes
 * the copy.
 */
const VERSION_4 = `
CREATE TABLE sample_copy (run INTEGER PRIMARY KEY REFERENCES run, columns BLOB NOT NULL) STRICT;
CREATE TRIGGER sample_updated AFTER UPDATE ON sample BEGIN DELETE FROM sample_copy WHERE run IN (old.run, new.run); END;
CREATE TRIGGER sample_deleted AFTER DELETE ON sample BEGIN DELETE FROM sample_copy WHERE run = old.run; END;
`;

/** Checksums of groups of rows (sqlite-seals.ts). */
const VERSION_5 = `
CREATE TABLE seal (what TEXT NOT NULL, id INTEGER NOT NULL, crc32 INTEGER NOT NULL, PRIMARY KEY (what, id)) STRICT, WITHOUT ROWID;
`;

/** Rows are the only store of samples, and read as fast (sample-columns.ts); what else a book of version 5 needs is in one-store.ts. */
const VERSION_6 = `
DROP TRIGGER IF EXISTS sample_updated;
DROP TRIGGER IF EXISTS sample_deleted;
DROP TABLE sample_copy;
`;

export const MIGRATIONS: readonly string[] = [VERSION_1, VERSION_2, VERSION_3, VERSION_4, VERSION_5, VERSION_6];
