/**
 * A recording in chapters, each decoded and aligned by itself, so that memory does not grow with its length. One of up to 23 minutes is a single
 * chapter. Each holds some of what comes before and after it: a launch is seen whole in one of them. Throws RoleError where the set-up cannot hold.
 */
import { alignRecording } from "../align/align-recording.ts";
import type { AlignedRecording } from "../align/aligned-recording.ts";
import { NS_PER_S } from "../kernel/units.ts";
import type { SetUp } from "../setup/set-up.ts";
import type { DbcFile } from "../dbc/dbc-model.ts";
import type { TalliedFrame } from "../frames/frame-tally.ts";
import type { StreamGap } from "../signals/tracks.ts";
import { createDecodeStream } from "./decode-stream.ts";
import type { CanFormat, Packet } from "./packet.ts";

const CHAPTER_S = 1200;
/** Kept of what was before: slow signals, and the standing before a launch. */
const LEAD_S = 120;
/** Read of what comes after: a launch, its braking and the seconds kept behind it. */
const TAIL_S = 180;
/** So far a chapter is read on for a launch that does not end. */
const LONGEST_TAIL_S = 1200;
/** Packets between two steps: a few milliseconds of decoding. */
const PACKETS_A_STEP = 4096;

export interface ChapterOptions {
  readonly setUp: SetUp;
  readonly databases: readonly DbcFile[];
  readonly canFormat: CanFormat;
  /** In arrival order. */
  readonly packets: Iterable<Packet>;
  readonly endNs: number;
  readonly gaps: readonly StreamGap[];
  /** Seconds a chapter; another length is for tests. */
  readonly chapterS?: number;
}

/** Good until the next one is read. */
export interface Chapter {
  readonly recording: AlignedRecording;
  /** Launches that begin later are the next one's; Infinity in the last. */
  readonly untilS: number;
  readonly isLast: boolean;
  /** Of the recording, read by now: 0 to 1. */
  readonly share: number;
}

/** Steps give the share of the recording that was read, 0 to 1. */
export interface Chapters {
  /** Held here alone, so that it is gone while the next is read; null before the first and after the last. */
  readonly current: Chapter | null;
  next(): Generator<number, void, undefined>;
  /** Reads more of what comes after the chapter, and makes it current once more. False where there is no more, or enough. */
  longer(): Generator<number, boolean, undefined>;
  /** Every identifier that came so far. */
  frames(): TalliedFrame[];
}

export function createChapters({ packets, endNs, gaps, chapterS = CHAPTER_S, ...options }: ChapterOptions): Chapters {
  const stream = createDecodeStream(options);
  const rest = packets[Symbol.iterator]();
  const [chapterNs, tailNs] = [chapterS * NS_PER_S, TAIL_S * NS_PER_S];
  let waiting = rest.next();
  let untilNs = 0;
  let heardNs = 0;
  let isOver = false;
  let current: Chapter | null = null;

  const shareAt = (ns: number) => Math.min(1, ns / Math.max(1, endNs));

  function* hear(toNs: number): Generator<number, void, undefined> {
    current = null;
    heardNs = toNs;
    for (let count = 1; waiting.done !== true && waiting.value.arrivalNs < toNs; count += 1) {
      stream.push(waiting.value);
      if (count % PACKETS_A_STEP === 0) yield shareAt(waiting.value.arrivalNs);
      waiting = rest.next();
    }
    isOver = waiting.done === true;
    if (isOver) stream.flush();
    const recording = alignRecording(stream.views(isOver ? endNs : heardNs, gaps), options.setUp);
    current = {
      recording,
      untilS: isOver ? Number.POSITIVE_INFINITY : untilNs / NS_PER_S,
      isLast: isOver,
      share: isOver ? 1 : shareAt(heardNs),
    };
  }

  return {
    get current() {
      return current;
    },
    *next() {
      current = null;
      if (isOver) return;
      const nextNs = waiting.done === true ? heardNs : waiting.value.arrivalNs;
      const isHole = nextNs - heardNs > chapterNs;
      // Before a long silence, what was heard last is a chapter of its own: none spans hours of nothing.
      if (isHole && heardNs > untilNs) {
        stream.dropBefore(untilNs - LEAD_S * NS_PER_S);
        untilNs = heardNs;
        return yield* hear(heardNs);
      }
      stream.dropBefore(isHole ? nextNs : untilNs - LEAD_S * NS_PER_S);
      untilNs = (isHole ? nextNs : untilNs) + chapterNs;
      return yield* hear(untilNs + tailNs);
    },
    *longer() {
      if (isOver || heardNs - untilNs >= LONGEST_TAIL_S * NS_PER_S) return false;
      yield* hear(heardNs + tailNs);
      return true;
    },
    frames: () => stream.frames(),
  };
}
