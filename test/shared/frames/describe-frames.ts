/** Frames of a batch as short text, for comparing in tests. */
import { FRAME_EXTENDED, FRAME_FD, FRAME_REMOTE, type FrameBatch } from "../../../src/shared/frames/frame-batch.ts";

export function describeFrames(batch: FrameBatch): string[] {
  return Array.from({ length: batch.length }, (_, row) => {
    const flags = batch.flags[row];
    const hex = (value: number, width: number) => value.toString(16).toUpperCase().padStart(width, "0");
    const id = (flags & FRAME_EXTENDED) !== 0 ? `${hex(batch.id[row], 8)}x` : hex(batch.id[row], 3);
    const remote = (flags & FRAME_REMOTE) !== 0;
    const data = Array.from({ length: batch.byteLength[row] }, (_, k) => hex(batch.byteAt(row, k), 2)).join("");
    const length = remote ? batch.dlc[row] : batch.byteLength[row];
    const stamp = Number.isNaN(batch.stampMs[row]) ? "" : ` @${batch.stampMs[row]}`;
    return `${id}${remote ? " remote" : ""}${(flags & FRAME_FD) !== 0 ? " fd" : ""} [${length}]${data === "" ? "" : ` ${data}`}${stamp}`;
  });
}
