/** A SocketCAN interface of Linux as a byte source: candump's lines, as the import of logs reads them. Making one starts nothing. */
import type { SocketCanSource } from "../../../shared/setup/set-up.ts";
import { wordsOf } from "../../../shared/kernel/words-of.ts";
import type { ByteSource } from "../../ports/byte-source.ts";
import type { Clock } from "../../ports/clock.ts";
import { createReopeningSource } from "../sources/reopening-source.ts";
import { openCandumpLine } from "./candump-line.ts";
import { createCandumpTalk } from "./candump-talk.ts";
import { type InterfaceState, interfaceState } from "./interface-state.ts";

const NOT_THERE = "the interface is not there";
const IS_DOWN = "the interface is down";

function troubleOf(name: string, error: unknown): string {
  const why = wordsOf(error);
  const place = "sources.can.socketcan in the set-up";
  if (/ENOENT/.test(why)) return "candump is not installed: `sudo apt-get install can-utils` (it reads SocketCAN, on Linux alone)";
  if (why === NOT_THERE || /No such device/.test(why)) return `interface ${name} is not there: plug the adapter in, or correct ${place}`;
  if (why === IS_DOWN || /Network is down/.test(why))
    return `interface ${name} is down: sudo ip link set ${name} up type can bitrate 500000 listen-only on (with the bus\u2019s own bit rate)`;
  if (/Address family not supported/.test(why)) return `this system\u2019s kernel has no CAN (${why}): use an adapter on a serial port`;
  return `interface ${name} failed (${why}): it is tried again; else correct ${place}`;
}

export function createSocketCanSource({ socketcan: name }: SocketCanSource, clock: Clock): ByteSource {
  let state: InterfaceState | null = null;
  return createReopeningSource({
    stream: "can",
    canFormat: "candump",
    clock,
    async open(ears) {
      state = await interfaceState(name);
      if (state?.state === "absent") throw new Error(NOT_THERE);
      if (state?.state === "down") throw new Error(IS_DOWN);
      return openCandumpLine({ name, clock, ...ears });
    },
    createTalk: () => createCandumpTalk(name, () => state),
    words: {
      opened: `CAN adapter: interface ${name} is open, no frame yet`,
      garbage: `CAN adapter: candump on ${name} prints no frame that can be read: is it can-utils\u2019 own?`,
      gone: (why) => `CAN adapter: interface ${name} is gone (${why}): it is opened again by itself`,
      trouble: (error) => `CAN adapter: ${troubleOf(name, error)}`,
    },
  });
}
