/** The byte sources that a set-up names. A set-up without a source throws RangeError: there would be nothing to record. */
import type { SetUp } from "../../../shared/setup/set-up.ts";
import type { ByteSource } from "../../ports/byte-source.ts";
import type { Clock } from "../../ports/clock.ts";
import { createAdapterTalk, type PortKnowledge } from "./adapter-talk.ts";
import { createReceiverTalk } from "./receiver-talk.ts";
import { createReopeningSource } from "./reopening-source.ts";
import { openAdapterLine, openSerialLine } from "./serial-line.ts";

export function createSerialSources({ sources }: Pick<SetUp, "sources">, clock: Clock): ByteSource[] {
  const made: ByteSource[] = [];
  const { gnss, can } = sources;
  if (gnss !== undefined) {
    made.push(
      createReopeningSource({
        stream: "gnss",
        canFormat: "slcan",
        name: { whose: "Receiver", path: gnss.port, place: "sources.gnss.port" },
        baud: gnss.baud,
        clock,
        open: openSerialLine,
        createTalk: createReceiverTalk,
        garbage: `Receiver on ${gnss.port}: bytes come, no valid NMEA sentence among them: wrong baud? The set-up says ${gnss.baud} (sources.gnss.baud); \`ports\` tries the usual ones`,
      }),
    );
  }
  if (can !== undefined) {
    const known: PortKnowledge = { mute: false };
    made.push(
      createReopeningSource({
        stream: "can",
        canFormat: "slcan",
        name: { whose: "CAN adapter", path: can.port, place: "sources.can.port" },
        baud: can.baud,
        clock,
        open: openAdapterLine,
        createTalk: () => createAdapterTalk(can, clock, known),
        garbage: `CAN adapter on ${can.port}: bytes come, no valid frame among them: correct sources.can.baud (now ${can.baud}) in the set-up, or check that an SLCAN adapter is on this port`,
      }),
    );
  }
  if (made.length === 0) throw new RangeError("The set-up names no source: add sources.gnss and sources.can with their ports");
  return made;
}
