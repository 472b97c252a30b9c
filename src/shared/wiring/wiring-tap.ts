/**
 * Reads both streams for the Wiring screen: every signal of the files, ground speed, and the state of each source. Bounded memory. Bytes
 * that cannot be read are counted; nothing throws.
 */
import { isOnceASecond } from "../receiver/once-a-second.ts";
import { fixWords } from "../receiver/fix-words.ts";
import { FrameBatch } from "../frames/frame-batch.ts";
import { createCandumpParser } from "../frames/candump-parser.ts";
import { createSlcanParser } from "../frames/slcan-parser.ts";
import { createSignalDatabase, type SignalDatabase } from "../dbc/dbc-decode.ts";
import type { DbcFile } from "../dbc/dbc-model.ts";
import { createReceiverReader } from "../receiver/receiver-bytes.ts";
import type { Epoch } from "../receiver/epoch-draft.ts";
import { createSignalSurvey, type SignalSurvey } from "../signals/signal-survey.ts";
import { NS_PER_S } from "../kernel/units.ts";
import { createLiveHealth } from "../pipeline/live-health.ts";
import type { SourceHealth } from "../pipeline/live-view.ts";
import type { CanFormat, Packet } from "../pipeline/packet.ts";

export interface WiringTap {
  readonly database: SignalDatabase;
  readonly survey: SignalSurvey;
  /** `only`: the signals to decode, by name; null decodes all. `canFormat`: of a packet from the bus. */
  push(packet: Packet, only: ReadonlySet<string> | null, canFormat?: CanFormat): void;
  health(stream: Packet["stream"], nowNs: number): SourceHealth;
  /** The receiver still sends once a second. */
  isOnceASecond(): boolean;
  /** Null while unknown or stale. */
  groundSpeedMps(nowNs: number): number | null;
}

const STALE_S = 1.5;

/** CAN FD frames are read like the others; that there are some is said, as not every adapter and signal file knows them. */
const fdWords = (frames: number) => (frames === 0 ? "" : `${frames} CAN FD ${frames === 1 ? "frame" : "frames"}`);

export function createWiringTap(files: readonly DbcFile[]): WiringTap {
  const database = createSignalDatabase(files);
  const survey = createSignalSurvey(database);
  const slcan = createSlcanParser();
  const candump = createCandumpParser();
  const receiver = createReceiverReader();
  const batch = new FrameBatch();
  const gnss = createLiveHealth({ present: true, unit: "Hz", remedy: "wrong baud, or the adapter\u2019s port" });
  const can = createLiveHealth({ present: true, unit: "frames/s", remedy: "wrong baud, or the receiver\u2019s port" });
  let epoch: Epoch | null = null;

  function take(found: Epoch): void {
    epoch = found;
    gnss.valid(1, found.arrivalNs);
    survey.pushSpeed(found.arrivalNs, found.speedMps);
  }

  return {
    database,
    survey,
    push({ stream, arrivalNs, bytes }, only, canFormat = "slcan") {
      if (stream === "gnss") {
        gnss.bytes(bytes.length, arrivalNs);
        receiver.push(bytes, arrivalNs, take);
        return;
      }
      can.bytes(bytes.length, arrivalNs);
      (canFormat === "slcan" ? slcan : candump).push(bytes, arrivalNs, batch);
      if (batch.length > 0) {
        can.valid(batch.length, arrivalNs);
        survey.push(batch, only);
      }
      batch.clear();
    },
    health(stream, nowNs) {
      if (stream === "can") return can.at(nowNs, fdWords(slcan.counts.fdFrames + candump.counts.fdFrames), null);
      const fix = epoch?.fix ?? null;
      const noFix = fix === "none" ? "it talks, but has no fix yet: give it a clear view of the sky" : null;
      const satellites = epoch === null || Number.isNaN(epoch.satellites) ? "" : `${epoch.satellites} satellites`;
      return gnss.at(nowNs, [fix === null ? "" : fixWords(fix), satellites].filter((part) => part !== "").join(", "), noFix);
    },
    isOnceASecond: () => isOnceASecond(gnss.perSecond()),
    groundSpeedMps(nowNs) {
      if (epoch === null || Number.isNaN(epoch.speedMps) || nowNs - epoch.arrivalNs > STALE_S * NS_PER_S) return null;
      return epoch.speedMps;
    },
  };
}
