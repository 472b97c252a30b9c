/**
 * Files that SQLite holds open in this thread. Closing any descriptor of a file drops all of the process's locks on it (POSIX;
 * sqlite.org/howtocorrupt.html, 2.2), so nobody else here may open one, not even to look at its first bytes. Another thread does not know
 * them: one that opens a book beside this one says so (sqlite-connection.ts). Never fails.
 */
import { type BigIntStats, realpathSync, statSync } from "node:fs";

type Identity = Pick<BigIntStats, "dev" | "ino">;

/** What SQLite keeps beside a book, and this program's own lock. */
const BESIDE = ["-shm", "-wal", "-journal", "-owner"] as const;

interface Held extends Identity {
  /** Without links, as SQLite names what lies beside. */
  readonly path: string;
}

const held = new Set<Held>();

const statOf = (file: string) => statSync(file, { bigint: true, throwIfNoEntry: false });
const isSame = (a: Identity, b: Identity) => a.dev === b.dev && a.ino === b.ino;

/** From its opening until the given function is called, when it is closed. */
export function holdFile(file: string): () => void {
  const { dev, ino } = statSync(file, { bigint: true });
  const one: Held = { dev, ino, path: realpathSync(file) };
  held.add(one);
  return () => void held.delete(one);
}

export function isHeld(identity: Identity): boolean {
  return [...held].some((one) => {
    if (isSame(one, identity)) return true;
    return BESIDE.some((end) => {
      const beside = statOf(`${one.path}${end}`);
      return beside !== undefined && isSame(beside, identity);
    });
  });
}

export function isHeldFile(file: string): boolean {
  if (held.size === 0) return false;
  const found = statOf(file);
  return found !== undefined && isHeld(found);
}
