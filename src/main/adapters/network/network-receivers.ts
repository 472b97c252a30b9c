/** Receivers on a network as byte sources. Nothing is written to any of them. Making one opens nothing. */
import type { TcpSource, UdpSource } from "../../../shared/setup/set-up.ts";
import { type Endpoint, readEndpoint, sourceName } from "../../../shared/setup/source-name.ts";
import type { ByteSource } from "../../ports/byte-source.ts";
import type { Clock } from "../../ports/clock.ts";
import { createReopeningSource } from "../sources/reopening-source.ts";
import { createNetworkTalk } from "./network-talk.ts";
import { networkWords } from "./network-words.ts";
import { openTcpLine } from "./tcp-line.ts";
import { openUdpLine } from "./udp-line.ts";
import { createUdpSenders } from "./udp-senders.ts";

const COMMON = { stream: "gnss", canFormat: "slcan" } as const;

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
