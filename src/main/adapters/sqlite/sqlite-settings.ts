/**
 * Settings of the book, and what was stored of every change: nothing is deleted. A damaged setting is taken from its newest change; where
 * that is damaged too, it throws BookError. A page that cannot be read takes only what is on it.
 */
import type { Database } from "better-sqlite3";
import { type Book, BookError, type Edit } from "../../ports/book.ts";
import { readableRows } from "./lost-pages.ts";
import { orDamaged } from "./run-ids.ts";
import type { Seals } from "./sqlite-seals.ts";

type SettingsPart = Pick<Book, "setting" | "setSetting" | "mendSettings" | "edits">;

interface EditRow extends Pick<Edit, "run" | "what" | "utcUs"> {
  readonly before: string;
  readonly after: string;
}

/** Stores the value before an edit; null means the book itself. */
export type KeepEdit = (run: number | null, what: string, before: unknown, after: unknown, utcUs: number) => void;

export function createKeepEdit(db: Database, seals: Seals): KeepEdit {
  return (run, what, before, after, utcUs) => {
    db.prepare("INSERT INTO edit (utc_ns, run, what, before, after) VALUES (?, ?, ?, ?, ?)").run(
      BigInt(utcUs) * 1000n,
      run,
      what,
      JSON.stringify(before),
      JSON.stringify(after),
    );
    seals.seal("edits", run ?? 0);
  };
}

export function createSettingsPart(db: Database, file: string, seals: Seals, keepEdit: KeepEdit): SettingsPart {
  const damaged = (what: string, cause: unknown) =>
    new BookError("damaged", `Book ${file}: ${what} is damaged; \`check\` lists all that is, and what to do`, { cause });

  function parsed(json: string, what: string): unknown {
    try {
      return JSON.parse(json);
    } catch (error) {
      throw damaged(what, error);
    }
  }

  function isJson(text: string): boolean {
    try {
      JSON.parse(text);
      return true;
    } catch {
      // False: the caller uses another one.
      return false;
    }
  }

  const newestChange = (key: string) =>
    orDamaged(
      undefined,
      () =>
        db.prepare("SELECT after FROM edit WHERE run IS NULL AND what = ? ORDER BY id DESC LIMIT 1").pluck().get(`setting ${key}`) as
          | string
          | undefined,
    );
  const put = (key: string, json: string) =>
    db.prepare("INSERT INTO setting VALUES (?, ?) ON CONFLICT (key) DO UPDATE SET value = excluded.value").run(key, json);

  function setting(key: string): unknown {
    const stored = orDamaged(undefined, () => db.prepare("SELECT value FROM setting WHERE key = ?").pluck().get(key) as string | undefined);
    const kept = newestChange(key);
    if (stored !== undefined && seals.isWhole("settings", 0) && (kept === undefined || isJson(stored)))
      return parsed(stored, `the setting ${key}`);
    const value = kept ?? stored;
    return value === undefined ? null : parsed(value, `the setting ${key}`);
  }

  return {
    setting,
    setSetting: db.transaction((key: string, value: unknown, utcUs: number) => {
      keepEdit(null, `setting ${key}`, setting(key), value, utcUs);
      put(key, JSON.stringify(value));
      seals.seal("settings", 0);
    }),
    mendSettings: db.transaction(() => {
      if (seals.isWhole("settings", 0)) return;
      // A setting whose name was damaged belongs to nothing; the true one is restored from its change.
      db.prepare("DELETE FROM setting").run();
      const changed = db.prepare("SELECT DISTINCT what FROM edit WHERE run IS NULL AND what LIKE 'setting %'").pluck().all() as string[];
      for (const key of changed.map((what) => what.slice("setting ".length))) put(key, newestChange(key) ?? "null");
      seals.seal("settings", 0);
    }),
    edits: (run) =>
      readableRows<EditRow>(
        db.prepare("SELECT run, what, before, after, utc_ns / 1000 AS utcUs FROM edit WHERE run IS ? ORDER BY id"),
        run,
      ).map(
        ({ before, after, ...rest }): Edit => ({
          ...rest,
          before: parsed(before, "an earlier change"),
          after: parsed(after, "an earlier change"),
        }),
      ),
  };
}
