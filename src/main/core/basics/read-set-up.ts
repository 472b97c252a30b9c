/**
 * Reads a set-up in the form that the pipeline needs. What cannot be used throws SetUpError or the signal file's own error: one line that
 * names the file and the place.
 */
import { SetUpError } from "../../../shared/setup/check-set-up.ts";
import type { SetUp } from "../../../shared/setup/set-up.ts";
import { parseSetUp } from "../../../shared/setup/set-up-text.ts";
import { parseDbc } from "../../../shared/dbc/dbc-file.ts";
import type { DbcFile } from "../../../shared/dbc/dbc-model.ts";
import { createSignalDatabase } from "../../../shared/dbc/dbc-decode.ts";
import { bindRoles, RoleError } from "../../../shared/signals/role-binding.ts";
import type { SignalFileText, StoredSetUp } from "../../ports/book.ts";

export interface ReadySetUp {
  readonly stored: StoredSetUp;
  readonly setUp: SetUp;
  readonly databases: readonly DbcFile[];
}

export function parseSignalFiles(signalFiles: readonly SignalFileText[]): DbcFile[] {
  return signalFiles.map(({ name, text }) => parseDbc(name, text));
}

/** The parts of a set-up, once its roles were found in its signal files. `name` is the set-up's name in messages. */
export function bound(parts: ReadySetUp, name: string): ReadySetUp {
  try {
    bindRoles(createSignalDatabase(parts.databases), parts.setUp.signals);
  } catch (cause) {
    if (cause instanceof RoleError) throw new SetUpError(`${name}: ${cause.message}`, { cause });
    throw cause;
  }
  return parts;
}

/** `signalFilesOf` is called with the signal files that the text names, once the text is valid. */
export function readSetUpWith(
  text: string,
  name: string,
  signalFilesOf: (names: readonly string[]) => readonly SignalFileText[],
): ReadySetUp {
  const setUp = parseSetUp(text, name);
  const signalFiles = signalFilesOf(setUp.database);
  return bound({ stored: { text, signalFiles }, setUp, databases: parseSignalFiles(signalFiles) }, name);
}

export function readSetUp(stored: StoredSetUp, name: string): ReadySetUp {
  return readSetUpWith(stored.text, name, () => stored.signalFiles);
}
