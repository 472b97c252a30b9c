/** A stored set-up as the pipeline wants it. What cannot be used throws SetUpError or the signal file's own error: one line that names the file and the place. */
import { parseJson } from "../../../shared/kernel/parse-json.ts";
import { checkSetUp, SetUpError } from "../../../shared/setup/check-set-up.ts";
import type { SetUp } from "../../../shared/setup/set-up.ts";
import { parseDbc } from "../../../shared/dbc/dbc-file.ts";
import type { DbcFile } from "../../../shared/dbc/dbc-model.ts";
import { createSignalDatabase } from "../../../shared/dbc/dbc-decode.ts";
import { bindRoles, RoleError } from "../../../shared/signals/role-binding.ts";
import type { StoredSetUp } from "../../ports/book.ts";

export interface ReadySetUp {
  readonly stored: StoredSetUp;
  readonly setUp: SetUp;
  readonly databases: readonly DbcFile[];
}

/** `name` is how messages call the set-up. */
export function parseSetUp(text: string, name: string): SetUp {
  let json: unknown;
  try {
    json = parseJson(text);
  } catch (cause) {
    throw new SetUpError(`${name}: no JSON at ${(cause as Error).message}; mend it there`, { cause });
  }
  return checkSetUp(json, name);
}

export function readSetUp(stored: StoredSetUp, name: string): ReadySetUp {
  const setUp = parseSetUp(stored.text, name);
  const utf8 = new TextEncoder();
  const databases = stored.signalFiles.map((signalFile) => parseDbc(signalFile.name, utf8.encode(signalFile.text)));
  try {
    bindRoles(createSignalDatabase(databases), setUp.signals);
  } catch (cause) {
    if (cause instanceof RoleError) throw new SetUpError(`${name}: ${cause.message}`, { cause });
    throw cause;
  }
  return { stored, setUp, databases };
}
