/** A run's samples as one block, column after column: how they are put by until they are stored, and a book before version 6 has them. Never fails. */
import { ofWord } from "../../../shared/kernel/by-word.ts";
import type { RunSamples } from "../../../shared/run/run.ts";
import type { RunSamplesView } from "../../ports/book.ts";
import { FIXED_COLUMNS } from "./sample-columns.ts";

type RoleUnits = RunSamplesView["roleUnits"];

const NUMBER_BYTES = Float64Array.BYTES_PER_ELEMENT;

/** The order of the block's columns. */
export const namesOf = (roleUnits: RoleUnits): readonly string[] => [...FIXED_COLUMNS, ...Object.keys(roleUnits)];

export const columnOf = (samples: RunSamples, name: string): Float64Array | null =>
  ofWord(samples as unknown as Record<string, Float64Array>, name) ?? ofWord(samples.roles, name) ?? null;

/** `columns` in the order of `namesOf`. */
export function viewOf(columns: readonly Float64Array[], roleUnits: RoleUnits): RunSamplesView {
  const fixed = Object.fromEntries(FIXED_COLUMNS.map((name, i) => [name, columns[i]]));
  const roles = Object.fromEntries(Object.keys(roleUnits).map((role, i) => [role, columns[FIXED_COLUMNS.length + i]]));
  return { samples: { ...fixed, roles } as unknown as RunSamples, roleUnits };
}

/** Little-endian doubles: the byte order of every machine that Gripbook runs on (Node has no big-endian desktop build). */
export function packSamples({ samples, roleUnits }: RunSamplesView): Uint8Array {
  const names = namesOf(roleUnits);
  const rows = samples.tS.length;
  const block = new Float64Array(names.length * rows).fill(Number.NaN);
  for (const [i, name] of names.entries()) block.set(columnOf(samples, name) ?? [], i * rows);
  return new Uint8Array(block.buffer);
}

/** The block's columns, in the order of `namesOf`; null where its length is none that these columns have. */
export function unpackSamples(block: Uint8Array, roleUnits: RoleUnits): Float64Array[] | null {
  const names = namesOf(roleUnits);
  if (block.byteLength % (names.length * NUMBER_BYTES) !== 0) return null;
  const values = new Float64Array(block.byteLength / NUMBER_BYTES);
  new Uint8Array(values.buffer).set(block);
  const rows = values.length / names.length;
  return names.map((_, i) => values.subarray(i * rows, (i + 1) * rows));
}
