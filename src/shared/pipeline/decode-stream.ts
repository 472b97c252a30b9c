/**
 * Decodes the packets of one recording into growing tracks. Live measuring, import, replay and rederive all use this. Bytes that are no
 * frame or sentence are counted; nothing throws on them. Creating one throws RoleError where the set-up is impossible.
 */
import { createCandumpParser } from "../frames/candump-parser.ts";
import { FrameBatch } from "../frames/frame-batch.ts";
import { createFrameTally, type TalliedFrame } from "../frames/frame-tally.ts";
import type { NmeaCounts } from "../receiver/nmea-sentence.ts";
import { createSlcanParser } from "../frames/slcan-parser.ts";
import type { SetUp } from "../setup/set-up.ts";
import { createSignalDatabase } from "../dbc/dbc-decode.ts";
import type { DbcFile } from "../dbc/dbc-model.ts";
import { createReceiverReader } from "../receiver/receiver-bytes.ts";
import type { Epoch } from "../receiver/epoch-draft.ts";
import { createEpochTrackBuilder } from "../receiver/epoch-track-builder.ts";
import { createRoleTap, type RoleTap } from "../signals/role-tap.ts";
import type { RecordingTracks, StreamGap } from "../signals/tracks.ts";
import { byteTimesOf, createByteClock } from "./byte-time.ts";
import type { CanFormat, Packet } from "./packet.ts";

interface StreamCounts {
  readonly can: { readonly bytes: number; readonly droppedBytes: number; readonly frames: number };
  readonly gnss: Readonly<NmeaCounts> & { readonly epochs: number };
}

export interface DecodeStream {
  push(packet: Packet): void;
  /** At the end: reads a last line that has no line end and finishes the open epoch. */
  flush(): void;
  readonly tap: RoleTap;
  readonly counts: StreamCounts;
  /** Every identifier that came, most frequent first. */
  frames(): TalliedFrame[];
  /** The epoch now coming in, as far as it is known: a screen need not wait until the next one begins. */
  openEpoch(): Epoch | null;
  tracks(endNs: number, gaps: readonly StreamGap[]): RecordingTracks;
  /** The same without a copy of the bus's columns: good until something is let go of. */
  views(endNs: number, gaps: readonly StreamGap[]): RecordingTracks;
  /** Drops what arrived before, so that a live session needs bounded memory. */
  dropBefore(arrivalNs: number): void;
  /** A port was opened again: a half line is dropped, and the adapter's clock may have restarted. */
  reopen(stream: Packet["stream"]): void;
}

export interface DecodeStreamOptions {
  readonly setUp: SetUp;
  readonly databases: readonly DbcFile[];
  readonly canFormat: CanFormat;
  /** Called with each finished epoch. */
  readonly onEpoch?: (epoch: Epoch) => void;
  /** Called with each batch of frames after the tap has read it; the batch is reused. */
  readonly onFrames?: (batch: FrameBatch) => void;
}

export function createDecodeStream({ setUp, databases, canFormat, onEpoch, onFrames }: DecodeStreamOptions): DecodeStream {
  const tap = createRoleTap(createSignalDatabase(databases), setUp);
  const slcan = createSlcanParser();
  const candump = createCandumpParser();
  const receiver = createReceiverReader();
  const epochs = createEpochTrackBuilder();
  const batch = new FrameBatch();
  const tally = createFrameTally();

  const takeEpoch = (epoch: Epoch) => {
    epochs.add(epoch);
    onEpoch?.(epoch);
  };
  const takeFrames = () => {
    if (batch.length === 0) return;
    tap.push(batch);
    tally.push(batch);
    onFrames?.(batch);
    batch.clear();
  };

  const byteClock = createByteClock(byteTimesOf(setUp.sources));
  const take = ({ stream, arrivalNs, bytes }: Packet) => {
    if (stream === "gnss") {
      receiver.push(bytes, arrivalNs, takeEpoch);
      return;
    }
    if (canFormat === "slcan") slcan.push(bytes, arrivalNs, batch);
    else candump.push(bytes, arrivalNs, batch);
    takeFrames();
  };

  return {
    tap,
    push(packet) {
      for (const part of byteClock(packet)) take(part);
    },
    flush() {
      receiver.flush(takeEpoch);
      if (canFormat === "candump") candump.flush(batch);
      takeFrames();
    },
    get counts() {
      const { bytes, droppedBytes, frames } = canFormat === "slcan" ? slcan.counts : candump.counts;
      return { can: { bytes, droppedBytes, frames }, gnss: { ...receiver.sentences, epochs: receiver.counts.epochs } };
    },
    frames: () => tally.seen(),
    openEpoch: () => receiver.open(),
    tracks(endNs, gaps) {
      return { ...tap.tracks("copied"), epochs: epochs.track(), gaps, endNs };
    },
    views(endNs, gaps) {
      return { ...tap.tracks("viewed"), epochs: epochs.track(), gaps, endNs };
    },
    dropBefore(arrivalNs) {
      tap.dropBefore(arrivalNs);
      epochs.dropBefore(arrivalNs);
    },
    reopen(stream) {
      if (stream === "can" && canFormat === "slcan") slcan.reopen();
    },
  };
}
