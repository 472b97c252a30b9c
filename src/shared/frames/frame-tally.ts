/** Counts frames by identifier, so that people can be told what a bus carries. Bounded: past MOST_IDS identifiers, new ones are not told apart. */
import { FRAME_EXTENDED, type FrameBatch } from "./frame-batch.ts";

export interface TalliedFrame {
  readonly id: number;
  readonly extended: boolean;
  readonly frames: number;
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
  return {
    push({ length, flags, id }) {
      for (let row = 0; row < length; row++) {
        if ((flags[row] & FRAME_EXTENDED) === 0) standard[id[row]] += 1;
        else if (extended.has(id[row]) || extended.size < MOST_IDS) extended.set(id[row], (extended.get(id[row]) ?? 0) + 1);
      }
    },
    seen() {
      const found: TalliedFrame[] = Array.from(extended, ([id, frames]) => ({ id, extended: true, frames }));
      standard.forEach((frames, id) => {
        if (frames > 0) found.push({ id, extended: false, frames });
      });
      return found.sort((a, b) => b.frames - a.frames);
    },
  };
}
