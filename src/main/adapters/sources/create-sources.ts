/** The byte sources that a set-up names. A set-up without a source throws RangeError: there would be nothing to record. */
import type { GnssSource, SetUp } from "../../../shared/setup/set-up.ts";
import { isSerial } from "../../../shared/setup/source-name.ts";
import type { ByteSource } from "../../ports/byte-source.ts";
import type { Clock } from "../../ports/clock.ts";
import { createGpsdReceiver, createTcpReceiver, createUdpReceiver } from "../network/network-receivers.ts";
import { createSocketCanSource } from "../socketcan/socketcan-source.ts";
import { createSerialReceiver, createSlcanAdapter } from "../serial/serial-sources.ts";

function receiverOf(gnss: GnssSource, clock: Clock): ByteSource {
  if ("gpsd" in gnss) return createGpsdReceiver(gnss, clock);
  if ("tcp" in gnss) return createTcpReceiver(gnss, clock);
  if ("udp" in gnss) return createUdpReceiver(gnss, clock);
  return createSerialReceiver(gnss, clock);
}

export function createSources({ sources: { gnss, can } }: Pick<SetUp, "sources">, clock: Clock): ByteSource[] {
  const made: ByteSource[] = [];
  if (gnss !== undefined) made.push(receiverOf(gnss, clock));
  if (can !== undefined) made.push(isSerial(can) ? createSlcanAdapter(can, clock) : createSocketCanSource(can, clock));
  if (made.length === 0) throw new RangeError("The set-up names no source: add sources.gnss and sources.can (docs/set-up.md)");
  return made;
}
