/** Reads the text of a set-up file and of its signal files. Throws FileRefused: one line that names the file and the remedy. */
import { dirname, resolve } from "node:path";
import { decodeFileText } from "../../../shared/dbc/text-encoding.ts";
import { MOST_SIGNAL_FILE_BYTES, MOST_TEXT_BYTES, readPlainFile } from "../../disk/read-file.ts";
import type { SignalFileText } from "../../ports/book.ts";

export function readSetUpText(file: string): string {
  return readPlainFile({ file, what: "Set-up" }, MOST_TEXT_BYTES).toString("utf8");
}

/** The signal files named by the set-up in `file`, read from its folder. */
export function readSignalFiles(file: string, names: readonly string[]): SignalFileText[] {
  return names.map((name) => {
    const wanted = { file: resolve(dirname(file), name), what: `Signal file (database in ${file})` };
    return { name, text: decodeFileText(readPlainFile(wanted, MOST_SIGNAL_FILE_BYTES)) };
  });
}
