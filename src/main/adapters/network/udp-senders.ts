/**
 * Decides whose datagrams are taken: those of the one sender that sends valid sentences, until it is silent for some seconds. Anybody else
 * is left out and named once. Only addresses of the local network and of this computer are heard at all. Bounded memory, never fails.
 */
import { BlockList } from "node:net";
import { CR, LF } from "../../../shared/kernel/ascii.ts";
import { createReceiverEar, type ReceiverEar } from "../../../shared/receiver/receiver-bytes.ts";

/** A receiver sends every second; after this long another may be heard in its place. */
const HELD_NS = 5e9;
/** So long a sender has to show that it is a receiver, before people are told that nobody is. */
const PATIENCE_NS = 3e9;
const MOST_CANDIDATES = 8;
const DOLLAR = 0x24;
const BANG = 0x21;

/** Loopback (RFC 1122), RFC 1918 section 3, link-local (RFC 3927). */
const NEAR = new BlockList();
for (const [net, prefix] of [
  ["127.0.0.0", 8],
  ["10.0.0.0", 8],
  ["172.16.0.0", 12],
  ["192.168.0.0", 16],
  ["169.254.0.0", 16],
] as const)
  NEAR.addSubnet(net, prefix, "ipv4");

export interface UdpSenders {
  /** The bytes that belong to the recording; null for a datagram that is not taken. */
  take(address: string, datagram: Uint8Array, arrivalNs: number): Uint8Array | null;
  /** Who else sends while the right one does; null when nobody. */
  readonly caution: string | null;
  /** Why nothing is taken though datagrams come; null while something is, or where none came. */
  readonly refusal: string | null;
}

/** `from`: the only address that is heard; null: the first that sends valid sentences. */
export function createUdpSenders(port: number, from: string | null): UdpSenders {
  const candidates = new Map<string, ReceiverEar>();
  let holder: string | null = null;
  let heardNs = 0;
  let endsLine = true;
  let firstOtherNs: number | null = null;
  let refusal: string | null = null;
  let other: string | null = null;

  function isValid(address: string, datagram: Uint8Array): boolean {
    const ear = candidates.get(address) ?? (candidates.size < MOST_CANDIDATES ? createReceiverEar() : null);
    if (ear === null) return false;
    candidates.set(address, ear);
    ear.push(datagram);
    return ear.counts.sentences > 0;
  }

  function leaveOut(address: string, why: string, arrivalNs: number): null {
    other = `UDP port ${port} also gets data from ${address}, which is not taken: ${why}`;
    firstOtherNs ??= arrivalNs;
    if (holder === null && arrivalNs - firstOtherNs > PATIENCE_NS)
      refusal = `Receiver: data come to UDP port ${port} from ${address}, and none is taken: ${why}`;
    return null;
  }

  return {
    take(address, datagram, arrivalNs) {
      if (!NEAR.check(address, "ipv4")) return leaveOut(address, "it is not in the local network", arrivalNs);
      if (from !== null && address !== from)
        return leaveOut(address, `sources.gnss.from in the set-up names ${from}; correct it if this is the receiver`, arrivalNs);
      if (holder !== null && arrivalNs - heardNs > HELD_NS) {
        holder = null;
        firstOtherNs = null;
        candidates.clear();
      }
      if (holder !== null && address !== holder)
        return leaveOut(address, `${holder} is heard; name the right one as sources.gnss.from in the set-up`, arrivalNs);
      if (holder === null && !isValid(address, datagram)) return leaveOut(address, "no valid NMEA sentence among them", arrivalNs);
      holder = address;
      refusal = null;
      heardNs = arrivalNs;
      candidates.clear();
      // Some senders leave out the line end: a datagram's end is one too, where the next begins a sentence.
      const isCut = !endsLine && (datagram[0] === DOLLAR || datagram[0] === BANG);
      const last = datagram.at(-1);
      if (last !== undefined) endsLine = last === CR || last === LF;
      return isCut ? Buffer.concat([Uint8Array.of(CR, LF), datagram]) : datagram;
    },
    get caution() {
      return holder === null ? null : other;
    },
    get refusal() {
      return holder === null ? refusal : null;
    },
  };
}
