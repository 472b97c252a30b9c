/**
 * Packets of one commit as one blob. For each packet: a varint of microseconds since the packet before, a varint of length * 2 + stream
 * bit, then the bytes. A blob that is not consistent throws RangeError that names the offset.
 */
import { NS_PER_US } from "../../../shared/kernel/units.ts";
import type { Packet } from "../../../shared/pipeline/packet.ts";

const LONGEST_VARINT = 8;

export function encodeBlock(packets: readonly Packet[]): Buffer {
  const size = packets.reduce((sum, packet) => sum + packet.bytes.length + 2 * LONGEST_VARINT, 0);
  const out = Buffer.allocUnsafe(size);
  let at = 0;
  const varint = (value: number) => {
    let rest = value;
    while (rest >= 0x80) {
      out[at++] = (rest % 0x80) + 0x80;
      rest = Math.floor(rest / 0x80);
    }
    out[at++] = rest;
  };
  let beforeUs = packets.length === 0 ? 0 : Math.round((packets[0] as Packet).arrivalNs / NS_PER_US);
  for (const { stream, arrivalNs, bytes } of packets) {
    const us = Math.round(arrivalNs / NS_PER_US);
    if (us < beforeUs) throw new RangeError(`Expected packets in arrival order, got ${us} us after ${beforeUs} us`);
    varint(us - beforeUs);
    varint(bytes.length * 2 + (stream === "can" ? 1 : 0));
    out.set(bytes, at);
    at += bytes.length;
    beforeUs = us;
  }
  return out.subarray(0, at);
}

/** The packets in order; their bytes are views of `blob`. */
export function* decodeBlock(blob: Uint8Array, fromNs: number): Generator<Packet> {
  let at = 0;
  // A Buffer's own subarray takes several times as long, and there are millions of packets.
  const bytesOf = (from: number, length: number) => new Uint8Array(blob.buffer as ArrayBuffer, blob.byteOffset + from, length);
  const varint = (): number => {
    let value = 0;
    for (let scale = 1, n = 0; n < LONGEST_VARINT; n += 1, scale *= 0x80) {
      const byte = blob[at++];
      if (byte === undefined) throw new RangeError(`Journal block ends inside a number at byte ${at}`);
      value += (byte & 0x7f) * scale;
      if (byte < 0x80) return value;
    }
    throw new RangeError(`Journal block holds a number too long at byte ${at}`);
  };
  let us = Math.round(fromNs / NS_PER_US);
  while (at < blob.length) {
    us += varint();
    const head = varint();
    const length = Math.floor(head / 2);
    if (at + length > blob.length) throw new RangeError(`Journal block ends inside a packet of ${length} bytes at byte ${at}`);
    yield { stream: head % 2 === 1 ? "can" : "gnss", arrivalNs: us * NS_PER_US, bytes: bytesOf(at, length) };
    at += length;
  }
}
