/**
 * A set-up file that the screens write, always as a whole. What cannot be read throws SetUpError with one line; what cannot be written, the
 * disk's own error.
 */
import { existsSync } from "node:fs";
import { dirname, join, parse } from "node:path";
import { SetUpError } from "../../../shared/setup/check-set-up.ts";
import { EMPTY_DRAFT } from "../../../shared/setup/draft-set-up.ts";
import { draftText, parseDraft } from "../../../shared/setup/set-up-text.ts";
import type { SetUpStore } from "../../ports/set-up-desk.ts";
import { isPlainFileName, PLAIN_FILE_NAME } from "../../../shared/kernel/file-name.ts";
import { makeFolder } from "../../disk/make-folder.ts";
import { writeNewFile } from "../../disk/new-file.ts";
import { isTaken } from "../../disk/place.ts";
import { MOST_SIGNAL_FILE_BYTES, readPlainFile } from "../../disk/read-file.ts";
import { readSetUpText, readSignalFiles } from "./set-up-file.ts";

export function createSetUpStore(file: string): SetUpStore {
  const folder = dirname(file);
  return {
    file,
    read: () =>
      existsSync(file) ? parseDraft(readSetUpText(file), `Set-up ${file}`) : { text: draftText(EMPTY_DRAFT), draft: EMPTY_DRAFT },
    signalFiles: (names) => readSignalFiles(file, names),
    write(text) {
      makeFolder(folder);
      writeNewFile({ file, over: "own" }, [Buffer.from(text)]);
    },
    addSignalFile(name, text) {
      if (!isPlainFileName(name)) throw new SetUpError(`Signal file: expected ${PLAIN_FILE_NAME}; rename it first`);
      makeFolder(folder);
      const { name: stem, ext } = parse(name);
      for (let n = 1; ; n += 1) {
        const candidate = n === 1 ? name : `${stem}-${n}${ext}`;
        const path = join(folder, candidate);
        if (!isTaken(path)) writeNewFile({ file: path, over: "nothing" }, [Buffer.from(text)]);
        else if (!existsSync(path) || readPlainFile({ file: path, what: "Signal file" }, MOST_SIGNAL_FILE_BYTES).toString("utf8") !== text)
          continue;
        return candidate;
      }
    },
  };
}
