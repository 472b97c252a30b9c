/** Receivers on a network as byte sources. Nothing is written to any of them, and to a gpsd its watch alone. Making one opens nothing. */
import type { GpsdSource, TcpSource, UdpSource } from "../../../shared/setup/set-up.ts";
import { type Endpoint, GPSD_PORT, readEndpoint, sourceName } from "../../../shared/setup/source-name.ts";
import type { ByteSource } from "../../ports/byte-source.ts";
import type { Clock } from "../../ports/clock.ts";
import { createReopeningSource } from "../sources/reopening-source.ts";
import { createGpsdTalk } from "./gpsd-talk.ts";
import { createNetworkTalk } from "./network-talk.ts";
import { networkWords } from "./network-words.ts";
import { openGpsdLine, openTcpLine } from "./tcp-line.ts";
import { openUdpLine } from "./udp-line.ts";
import { createUdpSenders } from "./udp-senders.ts";

const COMMON = { stream: "gnss", canFormat: "slcan" } as const;

export function createGpsdReceiver(source: GpsdSource, clock: Clock): ByteSource {
  const name = sourceName(source);
  const place = "sources.gnss.gpsd";
  const endpoint = readEndpoint(source.gpsd, GPSD_PORT) as Endpoint;
  return createReopeningSource({
    ...COMMON,
    clock,
    open: (ears, stopping) => openGpsdLine({ ...endpoint, clock, stopping, ...ears }),
    createTalk: () => createGpsdTalk(name, place),
    words: networkWords({ name, place }, `${name} is connected`),
  });
}

export function createTcpReceiver(source: TcpSource, clock: Clock): ByteSource {
  const name = sourceName(source);
  const place = "sources.gnss.tcp";
  // The set-up was checked: an address that cannot be read does not come here.
  const endpoint = readEndpoint(source.tcp, null) as Endpoint;
  return createReopeningSource({
    ...COMMON,
    clock,
    open: (ears, stopping) => openTcpLine({ ...endpoint, clock, stopping, ...ears }),
    createTalk: () => createNetworkTalk(name, place),
    words: networkWords({ name, place }, `${name} is connected`),
  });
}

export function createUdpReceiver(source: UdpSource, clock: Clock): ByteSource {
  const name = sourceName(source);
  const place = "sources.gnss.udp";
  let senders = createUdpSenders(source.udp, source.from ?? null);
  return createReopeningSource({
    ...COMMON,
    clock,
    createTalk() {
      senders = createUdpSenders(source.udp, source.from ?? null);
      return createNetworkTalk(name, place, senders);
    },
    open: (ears) => openUdpLine({ port: source.udp, senders, clock, ...ears }),
    words: networkWords({ name, place }, `${name} is open`),
  });
}
