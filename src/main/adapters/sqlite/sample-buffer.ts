/**
 * Samples of runs that are derived and not stored yet, in a file of SQLite's own that has no name and goes with the connection
 * (sqlite.org/inmemorydb.html, "Temporary Databases"). Where the system's temporary folder has no room, putting by throws BookError.
 */
import Database from "better-sqlite3";
import type { RunSamples } from "../../../shared/run/run.ts";
import { BookError, type RunSamplesView } from "../../ports/book.ts";
import { packSamples, unpackSamples, viewOf } from "./sample-block.ts";

export interface SampleBuffer {
  bufferSamples(view: RunSamplesView): () => RunSamples;
  close(): void;
}

function openBuffer(): Database.Database {
  const db = new Database("");
  // Nothing of it is ever read again by another process.
  db.pragma("journal_mode = OFF");
  db.pragma("synchronous = OFF");
  db.exec("CREATE TABLE buffer (id INTEGER PRIMARY KEY, columns BLOB NOT NULL) STRICT");
  return db;
}

const noRoom = (cause: unknown) =>
  new BookError("full", "The system's folder for temporary files has no room for the runs that are derived; free some space there", {
    cause,
  });

/** What the temporary folder does not take is no fault of the book's. */
function orNoRoom<T>(work: () => T): T {
  try {
    return work();
  } catch (error) {
    throw noRoom(error);
  }
}

export function createSampleBuffer(): SampleBuffer {
  let opened: Database.Database | null = null;
  return {
    bufferSamples({ samples, roleUnits }) {
      const block = packSamples({ samples, roleUnits });
      const db = orNoRoom(() => {
        opened ??= openBuffer();
        return opened;
      });
      const { lastInsertRowid: id } = orNoRoom(() => db.prepare("INSERT INTO buffer (columns) VALUES (?)").run(block));
      return () => {
        const columns = db.prepare("SELECT columns FROM buffer WHERE id = ?").pluck().get(id) as Uint8Array;
        db.prepare("DELETE FROM buffer WHERE id = ?").run(id);
        return viewOf(unpackSamples(columns, roleUnits) as Float64Array[], roleUnits).samples;
      };
    },
    close() {
      opened?.close();
      opened = null;
    },
  };
}
