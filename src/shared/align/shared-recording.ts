/** A recording whose columns lie in memory that several threads read: a copy, so that the one it was made from may change. Needs as many bytes again. */
import type { AlignedRecording } from "./aligned-recording.ts";

export function sharedRecording(recording: AlignedRecording): AlignedRecording {
  let at = 0;
  const memory = new Float64Array(new SharedArrayBuffer(8 * lengthOf(recording)));
  const shared = (value: unknown): unknown => {
    if (value instanceof Float64Array) {
      const column = memory.subarray(at, at + value.length);
      column.set(value);
      at += value.length;
      return column;
    }
    if (Array.isArray(value)) return value.map(shared);
    if (typeof value === "object" && value !== null)
      return Object.fromEntries(Object.entries(value).map(([key, one]) => [key, shared(one)]));
    return value;
  };
  return shared(recording) as AlignedRecording;
}

/** Numbers in all columns. */
function lengthOf(value: unknown): number {
  if (value instanceof Float64Array) return value.length;
  if (typeof value !== "object" || value === null) return 0;
  return Object.values(value).reduce((sum: number, one) => sum + lengthOf(one), 0);
}
