/**
 * A recording whose columns lie in memory that several threads read: a copy, so that the one it was made from may change. Needs as many bytes
 * again; a column that stands in several places is copied once.
 */
import type { AlignedRecording } from "./aligned-recording.ts";

export function sharedRecording(recording: AlignedRecording): AlignedRecording {
  let at = 0;
  const columns = new Set<Float64Array>();
  collect(recording, columns);
  const memory = new Float64Array(new SharedArrayBuffer([...columns].reduce((sum, { byteLength }) => sum + byteLength, 0)));
  const copies = new Map<Float64Array, Float64Array>();
  for (const column of columns) {
    const copy = memory.subarray(at, at + column.length);
    copy.set(column);
    copies.set(column, copy);
    at += column.length;
  }
  const shared = (value: unknown): unknown => {
    if (value instanceof Float64Array) return copies.get(value);
    if (Array.isArray(value)) return value.map(shared);
    if (typeof value === "object" && value !== null)
      return Object.fromEntries(Object.entries(value).map(([key, one]) => [key, shared(one)]));
    return value;
  };
  return shared(recording) as AlignedRecording;
}

/** All columns below a value. */
function collect(value: unknown, into: Set<Float64Array>): void {
  if (value instanceof Float64Array) into.add(value);
  else if (typeof value === "object" && value !== null) for (const one of Object.values(value)) collect(one, into);
}
