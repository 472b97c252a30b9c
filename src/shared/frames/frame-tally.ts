/** Counts frames by identifier, so that people can be told what a bus carries. Bounded: past MOST_IDS identifiers, new ones are not told apart. */
import { FRAME_EXTENDED, FRAME_FD, type FrameBatch } from "./frame-batch.ts";

export interface TalliedFrame {
  readonly id: number;
  readonly extended: boolean;
  readonly frames: number;
  /** CAN FD frames among them. */
  readonly fd: boolean;
}

export interface FrameTally {
  push(batch: FrameBatch): void;
  /** Most frequent first. */
  seen(): TalliedFrame[];
}

const MOST_IDS = 4096;

export function createFrameTally(): FrameTally {
  const standard = new Uint32Array(0x800);
  const extended = new Map<number, number>();
  const fd = { standard: new Set<number>(), extended: new Set<number>() };
  return {
    push({ length, flags, id }) {
      for (let row = 0; row < length; row++) {
        if ((flags[row] & FRAME_FD) !== 0) {
          const ids = (flags[row] & FRAME_EXTENDED) === 0 ? fd.standard : fd.extended;
          if (ids.size < MOST_IDS) ids.add(id[row]);
        }
        if ((flags[row] & FRAME_EXTENDED) === 0) standard[id[row]] += 1;
        else if (extended.has(id[row]) || extended.size < MOST_IDS) extended.set(id[row], (extended.get(id[row]) ?? 0) + 1);
      }
    },
    seen() {
      const found: TalliedFrame[] = Array.from(extended, ([id, frames]) => ({ id, extended: true, frames, fd: fd.extended.has(id) }));
      standard.forEach((frames, id) => {
        if (frames > 0) found.push({ id, extended: false, frames, fd: fd.standard.has(id) });
      });
      return found.sort((a, b) => b.frames - a.frames);
    },
  };
}
