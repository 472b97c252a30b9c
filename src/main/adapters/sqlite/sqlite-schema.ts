/** The book's tables, by version. What a migration drops is stored elsewhere in the book; a book of a newer Gripbook is refused. */
import type { Database } from "better-sqlite3";
import type { ListRole, SingleRole } from "../../../shared/setup/roles.ts";
import { BookError } from "../../ports/book.ts";
import { schemaFaults, tablesOf } from "./expected-schema.ts";
import { giantIn } from "./giants.ts";
import { forgetCopies, ONE_STORE, rowSeals, storeRowSeals, whileNobodyRecords } from "./one-store.ts";
import { isDamage, orDamaged } from "./run-ids.ts";
import { MIGRATIONS } from "./sqlite-migrations.ts";
import { createSeals } from "./sqlite-seals.ts";

/** "Grip" in ASCII: marks a SQLite file as a book. */
export const APPLICATION_ID = 0x47726970;

/** An axle has two wheels; no car is known with more than two sensors a wheel. */
const MOST_SENSORS = 4;

/**
 * Single roles, each with the version of the schema that added its column. A new role compiles only when it is listed here, with a
 * migration that adds its column.
 */
const COLUMN_SINCE = {
  motorSpeed: 1,
  torqueRequest: 1,
  torqueCommand: 1,
  torqueDelivered: 1,
  pedal: 1,
  stateOfCharge: 1,
  tractionControlEnabled: 1,
  tractionControlActive: 1,
  brake: 1,
  torqueLimit: 1,
  batteryVoltage: 1,
  batteryCurrent: 1,
  motorTemperature: 1,
  inverterTemperature: 1,
  batteryTemperature: 1,
  longitudinalAcceleration: 1,
} as const satisfies Record<SingleRole, number>;

/** Role columns: the role's own name; "drivenWheelSpeeds.0" ... for lists. */
export const ROLE_COLUMNS: readonly string[] = [
  ...Object.keys(COLUMN_SINCE),
  ...(["drivenWheelSpeeds", "undrivenWheelSpeeds"] satisfies ListRole[]).flatMap((role) =>
    Array.from({ length: MOST_SENSORS }, (_, i) => `${role}.${i}`),
  ),
];

function refuseStrange(db: Database, file: string): void {
  const [strange] = schemaFaults(db).unfit;
  const first = strange ?? giantIn(db, tablesOf(db.pragma("user_version", { simple: true }) as number)) ?? undefined;
  if (first !== undefined)
    throw new BookError("unavailable", `Book ${file} was changed by another program, or is made up: ${first}; use a copy from before`);
}

/** The oldest version that can be read without migration, where nothing can be written. */
const OLDEST_READABLE = 3;

/** For a book that is only read: throws BookError where it would have to be migrated first. */
export function assertReadable(db: Database, file: string): void {
  const version = db.pragma("user_version", { simple: true }) as number;
  if (version < OLDEST_READABLE || version > MIGRATIONS.length)
    throw new BookError(
      "full",
      `Book ${file}: it is of version ${version} and must be written once to be read, but the disk is full; free some space`,
    );
  refuseStrange(db, file);
}

/** Makes the steps that are missing; gives the version before. */
function step(db: Database): number {
  // Another process may have migrated it while this one waited for the lock.
  const from = db.pragma("user_version", { simple: true }) as number;
  for (let next = from; next < MIGRATIONS.length; next += 1) {
    db.exec(MIGRATIONS[next] as string);
    db.pragma(`user_version = ${next + 1}`);
  }
  db.pragma(`application_id = ${APPLICATION_ID}`);
  return from;
}

function migrateFrom(db: Database, version: number): void {
  const seals = version === ONE_STORE - 1 ? rowSeals(db) : [];
  try {
    db.transaction(() => {
      if (step(db) < ONE_STORE) storeRowSeals(db, seals);
      createSeals(db).sealMissing();
    }).immediate();
  } catch (error) {
    // Only the version just before has what can be left out without a loss.
    if (!isDamage(error) || version !== ONE_STORE - 1) throw error;
    forgetCopies(db);
    orDamaged(undefined, () => db.transaction(() => storeRowSeals(db, seals)).immediate());
    db.transaction(() => step(db)).immediate();
  }
}

/** Migrates the file to this program's version. */
export function migrate(db: Database, file: string): void {
  const version = db.pragma("user_version", { simple: true }) as number;
  if (version > MIGRATIONS.length) {
    throw new BookError(
      "unavailable",
      `Book ${file} was written by a newer Gripbook (version ${version}, this one knows ${MIGRATIONS.length}): update Gripbook`,
    );
  }
  if (version > 0) refuseStrange(db, file);
  if (version === MIGRATIONS.length) return;
  if (version > 0 && version < ONE_STORE) whileNobodyRecords(file, () => migrateFrom(db, version));
  else migrateFrom(db, version);
}
