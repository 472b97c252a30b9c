/** Serial ports as byte sources: a receiver, which is only read, and an SLCAN adapter. Making one opens nothing. */
import type { SerialPortSource, SlcanSource } from "../../../shared/setup/set-up.ts";
import type { ByteSource } from "../../ports/byte-source.ts";
import type { Clock } from "../../ports/clock.ts";
import { createReceiverTalk } from "../sources/receiver-talk.ts";
import { createReopeningSource, type SourceWords } from "../sources/reopening-source.ts";
import { createAdapterTalk, type PortKnowledge } from "./adapter-talk.ts";
import { goneWords, type PortName, portTrouble } from "./port-trouble.ts";
import { openAdapterLine, openSerialLine } from "./serial-line.ts";

const wordsFor = (name: PortName, garbage: string): SourceWords => ({
  opened: `${name.whose}: ${name.path} is open, no bytes yet`,
  garbage: `${name.whose} on ${name.path}: ${garbage}`,
  gone: (why) => goneWords(name, why),
  trouble: (error) => portTrouble(name, error),
});

export const createSerialReceiver = ({ port, baud }: SerialPortSource, clock: Clock): ByteSource =>
  createReopeningSource({
    stream: "gnss",
    canFormat: "slcan",
    clock,
    open: (ears) => openSerialLine({ path: port, baud, clock, ...ears }),
    createTalk: createReceiverTalk,
    words: wordsFor(
      { whose: "Receiver", path: port, place: "sources.gnss.port" },
      `bytes come, no valid NMEA sentence among them: wrong baud? The set-up says ${baud} (sources.gnss.baud); \`ports\` tries the usual ones`,
    ),
  });

export function createSlcanAdapter(can: SlcanSource, clock: Clock): ByteSource {
  const { port, baud } = can;
  const known: PortKnowledge = { mute: false };
  return createReopeningSource({
    stream: "can",
    canFormat: "slcan",
    clock,
    open: (ears) => openAdapterLine({ path: port, baud, clock, ...ears }),
    createTalk: () => createAdapterTalk(can, clock, known),
    words: wordsFor(
      { whose: "CAN adapter", path: port, place: "sources.can.port" },
      `bytes come, no valid frame among them: correct sources.can.baud (now ${baud}) in the set-up, or check that an SLCAN adapter is on this port`,
    ),
  });
}
