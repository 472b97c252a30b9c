/** A saturated bus and a receiver of 25 Hz for hours of simulated time: the car's own frames, and others' up to a full 1 Mbit/s (docs/check-values.md). */
import { defaultDayPlan, launchAndTurn } from "../../src/shared/simulation/default-day.ts";
import { createDrive } from "../../src/shared/simulation/drive.ts";
import type { SimulatedPacket } from "../../src/shared/simulation/packets.ts";
import type { Segment } from "../../src/shared/simulation/plan.ts";
import { createRandom } from "../../src/shared/simulation/random.ts";

const FRAMES_A_SECOND = 8756;
const RECEIVER_HZ = 25;
const PACKET_US = 5000;

function* script(): Generator<Segment, void, undefined> {
  const random = createRandom(8, "long");
  for (let i = 0; ; i += 1) {
    yield* launchAndTurn(i % 2 === 1, random);
    yield { kind: "gentle", seconds: 240 };
  }
}

export interface LongBus {
  /** What arrives until then, in order. */
  advance(toUs: number): SimulatedPacket[];
  /** Lines of frames handed out so far. */
  readonly frames: number;
}

export function createLongBus(): LongBus {
  const { segments: _, ...day } = defaultDayPlan(1);
  const plan = { ...day, receiver: { ...day.receiver, rateHz: RECEIVER_HZ } };
  const drive = createDrive({ seed: 1, plan, segments: script(), onLaunch: () => undefined });
  let [frames, fillUs] = [0, 0];
  const fill = (toUs: number): SimulatedPacket => {
    const stamp = (Math.floor(toUs / 1000) % 60_000).toString(16).padStart(4, "0").toUpperCase();
    let text = "";
    for (; frames < (toUs * FRAMES_A_SECOND) / 1e6; frames += 1)
      text += `t7008${frames.toString(16).padStart(16, "0").toUpperCase()}${stamp}\r`;
    return { stream: "can", arrivalUs: toUs, bytes: Buffer.from(text, "latin1") };
  };
  return {
    get frames() {
      return frames;
    },
    advance(toUs) {
      while (drive.nowUs() < toUs) drive.step();
      const own = drive.take();
      for (const { stream, bytes } of own) if (stream === "can") for (const byte of bytes) if (byte === 0x0d) frames += 1;
      const others: SimulatedPacket[] = [];
      for (fillUs += PACKET_US; fillUs <= toUs; fillUs += PACKET_US) {
        const packet = fill(fillUs);
        if (packet.bytes.length > 0) others.push(packet);
      }
      fillUs -= PACKET_US;
      return [...own, ...others].sort((a, b) => a.arrivalUs - b.arrivalUs);
    },
  };
}
