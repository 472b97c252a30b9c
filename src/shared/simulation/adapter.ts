/** The simulated CAN-to-serial adapter: bus frames as SLCAN lines, stamped by its own clock, handed to the host in bursts. Frames are lost only while it restarts. */
import type { HostClock } from "./host-clock.ts";
import type { SimulatedPacket } from "./packets.ts";
import type { BusPlan } from "./plan.ts";
import type { Random } from "./random.ts";

export interface Adapter {
  /** A frame is ready for the bus at `readyS`; its values were sampled at `sampledS` (true time, rising). */
  frame(id: number, extended: boolean, data: Uint8Array, sampledS: number, out: SimulatedPacket[]): void;
  /** Delivers what is due by `tS`. */
  flush(tS: number, out: SimulatedPacket[]): void;
  /**
   * Least delay of a bus frame's mapped time, host seconds: mean wait before the stamp plus the shortest way from stamp to arrival. Without
   * stamps a frame is placed at its arrival, so the mean way counts. Null before the first frame.
   */
  latenessS(): number | null;
}

const FRAME_S = 0.00024; // about 120 bits at 500 kbit/s
const STAMP_WRAP_MS = 60000; // the stamp counts 0 to 59,999
const FULL_BYTES = 62; // payload of one full-speed USB packet behind two status bytes
const USB_S = 0.00018;
const RESTART_S = 1.2; // frames are lost while it starts; its clock then begins at zero
const HEX = "0123456789ABCDEF";

export function createAdapter({ plan, random, host }: { plan: BusPlan; random: Random; host: HostClock }): Adapter {
  let clockStartMs = random.between(0, STAMP_WRAP_MS);
  const restartsAtS = [...plan.restartsAtS].sort((a, b) => a - b);
  const msPerS = 1e3 * (1 + plan.driftPpm * 1e-6);
  const stampAt = (tS: number) => tS * msPerS;
  const pending = new Uint8Array(4096);
  const stampedUs: number[] = [];
  let length = 0;
  let dueS = 0;
  let busFreeS = 0;
  let lastArrivalUs = 0;
  let waitSumS = 0;
  let frames = 0;
  let waySumS = 0;
  let leastWayS = Number.POSITIVE_INFINITY;

  function put(value: number, digits: number): void {
    for (let i = digits - 1; i >= 0; i -= 1) {
      pending[length] = HEX.charCodeAt((value >>> (4 * i)) & 15);
      length += 1;
    }
  }

  function handOver(readyS: number, out: SimulatedPacket[]): void {
    const arrivalUs = Math.max(lastArrivalUs, host.arrivalUsAt(readyS + USB_S - 0.00008 * Math.log(1 - random.next())));
    lastArrivalUs = arrivalUs;
    for (const us of stampedUs) {
      leastWayS = Math.min(leastWayS, (arrivalUs - us) / 1e6);
      waySumS += (arrivalUs - us) / 1e6;
    }
    stampedUs.length = 0;
    out.push({ stream: "can", arrivalUs, bytes: pending.slice(0, length) });
    length = 0;
  }

  return {
    frame(id, extended, data, sampledS, out) {
      const restartS = restartsAtS[0];
      if (restartS !== undefined && sampledS >= restartS) {
        if (sampledS < restartS + RESTART_S) return;
        restartsAtS.shift();
        clockStartMs = -stampAt(sampledS);
      }
      const stampS = Math.max(sampledS + 0.0003 + plan.jitterS * random.next(), busFreeS) + FRAME_S;
      busFreeS = stampS;
      if (length > 0 && stampS > dueS) handOver(dueS, out);
      if (length === 0) dueS = plan.burstS > 0 ? Math.ceil(stampS / plan.burstS) * plan.burstS : stampS;
      pending[length] = extended ? 84 : 116; // "T" or "t"
      length += 1;
      put(id, extended ? 8 : 3);
      put(data.length, 1);
      for (const byte of data) put(byte, 2);
      if (plan.stamps) put(Math.floor(clockStartMs + stampAt(stampS)) % STAMP_WRAP_MS, 4);
      pending[length] = 13;
      length += 1;
      waitSumS += stampS - sampledS;
      frames += 1;
      stampedUs.push(host.usAt(stampS));
      if (length >= FULL_BYTES) handOver(stampS, out);
    },
    flush(tS, out) {
      if (length > 0 && tS >= dueS) handOver(dueS, out);
    },
    latenessS: () => (frames === 0 ? null : waitSumS / frames + (plan.stamps ? leastWayS : waySumS / frames)),
  };
}
