/** A set-up file that the screens write, whole or not at all. What cannot be read throws SetUpError with one line; what cannot be written, the disk's own. */
import { existsSync, readFileSync } from "node:fs";
import { dirname, join, parse, resolve } from "node:path";
import { checkDraft, SetUpError } from "../../../shared/setup/check-set-up.ts";
import { type DraftSetUp, EMPTY_DRAFT } from "../../../shared/setup/draft-set-up.ts";
import { decodeFileText } from "../../../shared/dbc/text-encoding.ts";
import type { SetUpStore } from "../../ports/set-up-desk.ts";
import { isPlainFileName, PLAIN_FILE_NAME } from "../../../shared/kernel/file-name.ts";
import { makeFolder } from "../../disk/make-folder.ts";
import { writeNewFile } from "../../disk/new-file.ts";
import { isTaken } from "../../disk/place.ts";

function readOrFail(file: string, what: string): Buffer {
  try {
    return readFileSync(file);
  } catch (cause) {
    const { code } = cause as { code?: string };
    throw new SetUpError(`${what} ${file}: ${code === "ENOENT" ? "not found" : String(code ?? cause)}; check the path`, { cause });
  }
}

/** As a person would write it: a role without inversion is just its signal's name. */
function fileText(draft: DraftSetUp): string {
  const plain = (choice: { signal: string; invert: boolean }) => (choice.invert ? choice : choice.signal);
  const signals = Object.fromEntries(
    Object.entries(draft.signals).map(([role, choice]) => [
      role,
      Array.isArray(choice) ? choice.map(plain) : plain(choice as { signal: string; invert: boolean }),
    ]),
  );
  return `${JSON.stringify({ ...draft, signals }, null, 2)}\n`;
}

export function createSetUpStore(file: string): SetUpStore {
  const folder = dirname(file);
  const raw = () => readOrFail(file, "Set-up").toString("utf8");
  const read = (): DraftSetUp => {
    if (!existsSync(file)) return EMPTY_DRAFT;
    const text = raw();
    let json: unknown;
    try {
      json = JSON.parse(text);
    } catch (cause) {
      throw new SetUpError(`Set-up ${file}: no JSON: ${cause instanceof Error ? cause.message : String(cause)}; mend it there`, { cause });
    }
    return checkDraft(json, `Set-up ${file}`);
  };
  return {
    file,
    read,
    textOf: (draft) => (existsSync(file) && JSON.stringify(read()) === JSON.stringify(draft) ? raw() : fileText(draft)),
    signalFiles: (names) =>
      names.map((name) => ({ name, text: decodeFileText(readOrFail(resolve(folder, name), `Signal file (database in ${file})`)) })),
    write(draft) {
      makeFolder(folder);
      writeNewFile({ file, over: "own" }, [Buffer.from(fileText(draft))]);
    },
    addSignalFile(name, text) {
      if (!isPlainFileName(name)) throw new SetUpError(`Signal file: expected ${PLAIN_FILE_NAME}; rename it first`);
      makeFolder(folder);
      const { name: stem, ext } = parse(name);
      for (let n = 1; ; n += 1) {
        const candidate = n === 1 ? name : `${stem}-${n}${ext}`;
        const path = join(folder, candidate);
        if (!isTaken(path)) writeNewFile({ file: path, over: "nothing" }, [Buffer.from(text)]);
        else if (!existsSync(path) || readOrFail(path, "Signal file").toString("utf8") !== text) continue;
        return candidate;
      }
    },
  };
}
