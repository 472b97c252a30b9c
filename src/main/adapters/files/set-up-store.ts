/** A set-up file that the screens write: temp file, sync, rename, so that a kill leaves the old or the new one whole. Throws SetUpError with one line. */
import { closeSync, existsSync, fsyncSync, mkdirSync, openSync, readFileSync, renameSync, writeFileSync } from "node:fs";
import { dirname, join, parse, resolve } from "node:path";
import { checkDraft, SetUpError } from "../../../shared/setup/check-set-up.ts";
import { type DraftSetUp, EMPTY_DRAFT } from "../../../shared/setup/draft-set-up.ts";
import { decodeFileText } from "../../../shared/dbc/text-encoding.ts";
import type { SetUpStore } from "../../ports/set-up-desk.ts";

/** Durable when it returns: a reader sees the old file or the new one, whole. */
export function replaceFile(file: string, text: string): void {
  const temporary = `${file}.part`;
  try {
    mkdirSync(dirname(file), { recursive: true });
    const handle = openSync(temporary, "w");
    writeFileSync(handle, text);
    fsyncSync(handle);
    closeSync(handle);
    renameSync(temporary, file);
  } catch (cause) {
    const { code } = cause as { code?: string };
    throw new SetUpError(`${file}: cannot be written (${code ?? String(cause)}); check the folder's permissions and room`, { cause });
  }
}

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
    write: (draft) => replaceFile(file, fileText(draft)),
    addSignalFile(name, text) {
      const { name: stem, ext } = parse(name);
      for (let n = 1; ; n += 1) {
        const candidate = n === 1 ? name : `${stem}-${n}${ext}`;
        const path = join(folder, candidate);
        if (!existsSync(path)) replaceFile(path, text);
        else if (readOrFail(path, "Signal file").toString("utf8") !== text) continue;
        return candidate;
      }
    },
  };
}
