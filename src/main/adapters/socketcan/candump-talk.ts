/** Listens to a SocketCAN interface through candump. Nothing can be written to it. Frames that the kernel dropped are a hole. Never fails. */
import { createCandumpParser } from "../../../shared/frames/candump-parser.ts";
import { FrameBatch } from "../../../shared/frames/frame-batch.ts";
import type { DeviceLine, DeviceTalk } from "../sources/device-talk.ts";
import type { InterfaceState } from "./interface-state.ts";

/** As candump -d prints it (can-utils 2020.11). */
const DROPPED = /DROPCOUNT: dropped (\d+) CAN frame/g;

/** `state`: of the interface as it was when this opening began; null: the system did not say. */
export function createCandumpTalk(name: string, state: () => InterfaceState | null): DeviceTalk<DeviceLine> {
  const parser = createCandumpParser();
  const batch = new FrameBatch();
  let dropped = 0;
  return {
    begin: async () => null,
    // A silent bus may sleep, and a program that reads cannot be asked; starting it again does no harm.
    check: async () => "dead",
    end: async () => undefined,
    hear(chunk, arrivalNs) {
      parser.push(chunk, arrivalNs, batch);
      batch.clear();
      const text = Buffer.from(chunk.buffer, chunk.byteOffset, chunk.byteLength);
      // A line of its own, written at once: searched for in every chunk, as a full bus brings thousands of lines a second.
      if (text.includes("DROPCOUNT")) for (const [, frames] of text.toString("latin1").matchAll(DROPPED)) dropped += Number(frames);
      return chunk;
    },
    takeHole() {
      const frames = dropped;
      dropped = 0;
      return frames === 0 ? null : `the kernel dropped ${frames} ${frames === 1 ? "frame" : "frames"}: this computer was too busy`;
    },
    refusal: null,
    get caution() {
      const now = state();
      if (now?.onlyListens === true) return null;
      const how = `sudo ip link set ${name} down && sudo ip link set ${name} up type can bitrate ${now?.bitrate ?? 500_000} listen-only on`;
      return now === null || now.onlyListens === null
        ? `CAN interface ${name}: the system does not say whether it only listens; set it so: ${how}`
        : `CAN interface ${name} does not only listen: its controller acknowledges the car\u2019s frames on the bus. Set it so: ${how}`;
    },
    get counts() {
      return { bytes: parser.counts.bytes, valid: parser.counts.frames };
    },
  };
}
