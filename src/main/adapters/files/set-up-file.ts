/** Reads a set-up file and the signal files it names, as the book will keep them. Throws SetUpError: one line that names the file and the remedy. */
import { readFileSync } from "node:fs";
import { dirname, resolve } from "node:path";
import { checkSetUp, SetUpError } from "../../../shared/setup/check-set-up.ts";
import { decodeFileText } from "../../../shared/dbc/text-encoding.ts";
import type { StoredSetUp } from "../../ports/book.ts";

function readBytes(file: string, what: string): Buffer {
  try {
    return readFileSync(file);
  } catch (cause) {
    const { code } = cause as { code?: string };
    const why =
      code === "ENOENT"
        ? "not found"
        : code === "EACCES"
          ? "may not be read"
          : code === "EISDIR"
            ? "a folder, not a file"
            : String(code ?? cause);
    throw new SetUpError(`${what} ${file}: ${why}; check the path`, { cause });
  }
}

export function readSetUpFile(file: string): StoredSetUp {
  const text = readBytes(file, "Set-up").toString("utf8");
  let json: unknown;
  try {
    json = JSON.parse(text);
  } catch (cause) {
    throw new SetUpError(`Set-up ${file}: no JSON: ${cause instanceof Error ? cause.message : String(cause)}; mend it there`, { cause });
  }
  const { database } = checkSetUp(json, `Set-up ${file}`);
  const signalFiles = database.map((name) => ({
    name,
    text: decodeFileText(readBytes(resolve(dirname(file), name), `Signal file (database in ${file})`)),
  }));
  return { text, signalFiles };
}
