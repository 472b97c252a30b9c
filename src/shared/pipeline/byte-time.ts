/**
 * Arrival of each line's first byte on a true UART. A packet is read when its last byte is in, and each byte took its time on the wire. A
 * line that begins inside a packet therefore arrived earlier, by the time of the bytes after its first one. Native USB and logs need no
 * such correction. Times never fall; bytes are never changed.
 */
import { BEL, CR, LF } from "../kernel/ascii.ts";
import { BITS_A_BYTE } from "../align/line-load.ts";
import type { CanSource, GnssSource, SetUp } from "../setup/set-up.ts";
import { isSerial } from "../setup/source-name.ts";
import type { Packet } from "./packet.ts";

const NS_PER_US = 1000;

/** Nanoseconds that a byte takes on each stream's line; 0 for a stream without a serial line. */
export interface ByteTimes {
  readonly gnss: number;
  readonly can: number;
}

/** From the set-up's ports: only a port declared as a UART takes time for its bytes. */
export function byteTimesOf({ gnss, can }: SetUp["sources"]): ByteTimes {
  const of = (source: GnssSource | CanSource | undefined) =>
    source !== undefined && isSerial(source) && source.line === "uart" ? (BITS_A_BYTE * 1e9) / source.baud : 0;
  return { gnss: of(gnss), can: of(can) };
}

/** The set-up for packets that did not come from a port: the stamps of a log, or of the simulated car, already belong to first bytes. */
export function withoutByteTime({ sources, ...rest }: SetUp): SetUp {
  const { gnss, can } = sources;
  return {
    ...rest,
    sources: {
      ...(gnss === undefined ? {} : { gnss: isSerial(gnss) && gnss.line === "uart" ? { port: gnss.port, baud: gnss.baud } : gnss }),
      ...(can === undefined ? {} : { can: { ...can, ...(isSerial(can) && can.line === "uart" ? { line: "usb" as const } : {}) } }),
    },
  };
}

/** The packets of one recording, cut at line starts and stamped anew. */
export function* firstByteTimed(packets: Iterable<Packet>, times: ByteTimes): Generator<Packet> {
  const clock = createByteClock(times);
  for (const packet of packets) yield* clock(packet);
}

/** A stage for both streams of one recording: takes a packet, gives the same bytes, cut before each line and stamped anew. */
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
      // The journal, and logs written from it, hold whole microseconds.
      const firstNs = arrivalNs - Math.round(((bytes.length - 1 - from) * byteNs) / NS_PER_US) * NS_PER_US;
      latestNs[stream] = Math.max(latestNs[stream], firstNs, 0);
      parts.push({ stream, arrivalNs: latestNs[stream], bytes: bytes.subarray(from, i) });
      from = i;
    }
    return parts;
  };
}

const isEnd = (byte: number) => byte === CR || byte === LF || byte === BEL;
