/** Reads a set-up file and the signal files it names, as the book will keep them. Throws SetUpError or FileRefused: one line that names the file and the remedy. */
import { dirname, resolve } from "node:path";
import { checkSetUp, SetUpError } from "../../../shared/setup/check-set-up.ts";
import { decodeFileText } from "../../../shared/dbc/text-encoding.ts";
import { parseJson } from "../../../shared/kernel/parse-json.ts";
import { MOST_SIGNAL_FILE_BYTES, MOST_TEXT_BYTES, readPlainFile } from "../../disk/read-file.ts";
import type { SignalFileText, StoredSetUp } from "../../ports/book.ts";

/** A set-up's text and what its JSON says, not checked yet. */
export function readSetUpText(file: string): { readonly text: string; readonly json: unknown } {
  const text = readPlainFile({ file, what: "Set-up" }, MOST_TEXT_BYTES).toString("utf8");
  try {
    return { text, json: parseJson(text) };
  } catch (cause) {
    throw new SetUpError(`Set-up ${file}: no JSON at ${(cause as Error).message}; mend it there`, { cause });
  }
}

/** The signal files that the set-up in `file` names, from beside it. */
export function readSignalFiles(file: string, names: readonly string[]): SignalFileText[] {
  return names.map((name) => {
    const wanted = { file: resolve(dirname(file), name), what: `Signal file (database in ${file})` };
    return { name, text: decodeFileText(readPlainFile(wanted, MOST_SIGNAL_FILE_BYTES)) };
  });
}

export function readSetUpFile(file: string): StoredSetUp {
  const { text, json } = readSetUpText(file);
  const { database } = checkSetUp(json, `Set-up ${file}`);
  return { text, signalFiles: readSignalFiles(file, database) };
}
