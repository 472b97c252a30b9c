/**
 * Packets of one recording into growing tracks: the decoding that live, import, replay and rederive share. Bytes that
 * are no frame or sentence are counted, never thrown on. Creating one throws RoleError where the set-up cannot hold.
 */
import { createCandumpParser } from "../frames/candump-parser.ts";
import { FrameBatch } from "../frames/frame-batch.ts";
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

export interface StreamCounts {
  readonly can: { readonly bytes: number; readonly droppedBytes: number; readonly frames: number };
  readonly gnss: Readonly<NmeaCounts> & { readonly epochs: number };
}

export interface DecodeStream {
  push(packet: Packet): void;
  /** The last line may lack its end: read it, and finish the open epoch. */
  flush(): void;
  readonly tap: RoleTap;
  readonly counts: StreamCounts;
  /** The epoch now coming in as far as it is known: a screen need not wait for the next one to begin. */
  openEpoch(): Epoch | null;
  tracks(endNs: number, gaps: readonly StreamGap[]): RecordingTracks;
  /** Lets go of what arrived before, so that a live session stays bounded. */
  dropBefore(arrivalNs: number): void;
  /** A port was opened again: a half line is dropped, the adapter's clock may have started anew. */
  reopen(stream: Packet["stream"]): void;
}

export interface DecodeStreamOptions {
  readonly setUp: SetUp;
  readonly databases: readonly DbcFile[];
  readonly canFormat: CanFormat;
  /** Hears each epoch as it is finished. */
  readonly onEpoch?: (epoch: Epoch) => void;
  /** Hears each batch of frames after it was tapped; the batch is reused. */
  readonly onFrames?: (batch: FrameBatch) => void;
}

export function createDecodeStream({ setUp, databases, canFormat, onEpoch, onFrames }: DecodeStreamOptions): DecodeStream {
  const tap = createRoleTap(createSignalDatabase(databases), setUp);
  const slcan = createSlcanParser();
  const candump = createCandumpParser();
  const receiver = createReceiverReader();
  const epochs = createEpochTrackBuilder();
  const batch = new FrameBatch();

  const takeEpoch = (epoch: Epoch) => {
    epochs.add(epoch);
    onEpoch?.(epoch);
  };
  const takeFrames = () => {
    if (batch.length === 0) return;
    tap.push(batch);
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
    openEpoch: () => receiver.open(),
    tracks(endNs, gaps) {
      return { ...tap.tracks(), epochs: epochs.track(), gaps, endNs };
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
