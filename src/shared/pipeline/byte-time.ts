/**
 * Arrival of each line's first byte on a true UART. A packet is read when its last byte is in, and every byte before it
 * took its time on the wire: so a line that begins inside a packet came earlier by the bytes behind its first one. Native
 * USB and logs have no such time. Times never fall; bytes are never changed.
 */
import type { SetUp } from "../setup/set-up.ts";
import type { Packet } from "./packet.ts";

/** Start bit, eight data bits, stop bit (NMEA 0183 and SLCAN adapters: 8N1). */
const BITS_A_BYTE = 10;
const CR = 13;
const LF = 10;
/** An adapter's "refused", which ends a line too. */
const BEL = 7;
const NS_PER_US = 1000;

/** Nanoseconds a byte takes on each stream's line; 0 where it has none. */
export interface ByteTimes {
  readonly gnss: number;
  readonly can: number;
}

/** What a set-up's ports say: only one that is called a UART takes time for its bytes. */
export function byteTimesOf({ gnss, can }: SetUp["sources"]): ByteTimes {
  const of = (source: { baud: number; line?: "uart" | "usb" } | undefined) =>
    source?.line === "uart" ? (BITS_A_BYTE * 1e9) / source.baud : 0;
  return { gnss: of(gnss), can: of(can) };
}

/** The set-up for packets that no port read: arrival stamps of a log, or of the simulated car, are those of first bytes already. */
export function withoutByteTime({ sources, ...rest }: SetUp): SetUp {
  const { gnss, can } = sources;
  return {
    ...rest,
    sources: {
      ...(gnss === undefined ? {} : { gnss: gnss.line === "uart" ? { port: gnss.port, baud: gnss.baud } : gnss }),
      ...(can === undefined ? {} : { can: { ...can, ...(can.line === "uart" ? { line: "usb" as const } : {}) } }),
    },
  };
}

/** Packets of one recording, cut and stamped as they will be read. */
export function* firstByteTimed(packets: Iterable<Packet>, times: ByteTimes): Generator<Packet> {
  const clock = createByteClock(times);
  for (const packet of packets) yield* clock(packet);
}

/** A stage for both streams of one recording: a packet in, the same bytes out, cut before each line and stamped anew. */
export function createByteClock(times: ByteTimes): (packet: Packet) => readonly Packet[] {
  const latestNs = { gnss: Number.NEGATIVE_INFINITY, can: Number.NEGATIVE_INFINITY };
  return (packet) => {
    const { stream, arrivalNs, bytes } = packet;
    const byteNs = times[stream];
    if (byteNs === 0 || bytes.length === 0) return [packet];
    const parts: Packet[] = [];
    let from = 0;
    for (let i = 1; i <= bytes.length; i++) {
      if (i < bytes.length && !(isEnd(bytes[i - 1]) && !isEnd(bytes[i]))) continue;
      // The journal, and logs written from it, keep whole microseconds.
      const firstNs = arrivalNs - Math.round(((bytes.length - 1 - from) * byteNs) / NS_PER_US) * NS_PER_US;
      latestNs[stream] = Math.max(latestNs[stream], firstNs, 0);
      parts.push({ stream, arrivalNs: latestNs[stream], bytes: bytes.subarray(from, i) });
      from = i;
    }
    return parts;
  };
}

const isEnd = (byte: number) => byte === CR || byte === LF || byte === BEL;
