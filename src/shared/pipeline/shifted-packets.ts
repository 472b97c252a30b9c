/** A recording's packets with one stream moved later by a fixed time, in order of arrival again. Reads them twice; holds none. */
import { NS_PER_S } from "../kernel/units.ts";
import type { Packet } from "./packet.ts";

/** `lateByS`: by how much the receiver's log lies later than the bus's. The earlier one is moved, so that no time falls below 0. */
export function* shiftedPackets(packets: () => Iterable<Packet>, lateByS: number): Generator<Packet> {
  const moved = lateByS > 0 ? "can" : "gnss";
  const byNs = Math.round(Math.abs(lateByS) * NS_PER_S);
  const of = (isMoved: boolean) => streamOf(packets(), moved, isMoved, isMoved ? byNs : 0);
  const [late, other] = [of(true), of(false)];
  let [a, b] = [late.next(), other.next()];
  while (a.done !== true || b.done !== true) {
    if (b.done === true || (a.done !== true && a.value.arrivalNs < b.value.arrivalNs)) {
      yield a.value as Packet;
      a = late.next();
    } else {
      yield b.value;
      b = other.next();
    }
  }
}

function* streamOf(packets: Iterable<Packet>, moved: Packet["stream"], isMoved: boolean, byNs: number): Generator<Packet> {
  for (const packet of packets)
    if ((packet.stream === moved) === isMoved) yield byNs === 0 ? packet : { ...packet, arrivalNs: packet.arrivalNs + byNs };
}
