/**
 * The local network as a host's reach: one private address, taken connections only from that address's own network, few of them, wrong
 * secrets counted, nothing printed.
 */
import type { Socket } from "node:net";
import type { NetworkAddress } from "../../../shared/contract/network-contract.ts";
import { ONLY_SHOWS } from "../../../shared/contract/reach.ts";
import type { PageFile } from "../page-files.ts";
import { NETWORK_HEADERS } from "../page-headers.ts";
import { type HostReach, USUAL_PORT } from "../web/host-reach.ts";
import { countGuesses } from "../web/wrong-guesses.ts";
import { onlyShowing } from "./only-showing.ts";
import { isWithin, networkUrl } from "./private-address.ts";

/** A browser opens six to one host, and a socket. */
const MOST_FROM_ONE = 12;
const SCAN_ANEW = "Scan a new code at the laptop: F1, On the local network.";

export function networkReach({ address, range }: NetworkAddress, nowMs: () => number = () => performance.now()): HostReach {
  const isNear = isWithin(range);
  const open = new Map<string, number>();
  return {
    address,
    usualPort: USUAL_PORT + 1,
    names: (port) => [new URL(networkUrl(address, port)).host],
    mostConnections: 64,
    slowestMs: 10_000,
    limits: { mostBytes: 64 * 1024, mostAsked: 2, mostPages: 8, lateMs: 250 },
    takes(socket: Socket) {
      const from = socket.remoteAddress ?? "";
      const before = open.get(from) ?? 0;
      if (!isNear(from) || before >= MOST_FROM_ONE) return false;
      open.set(from, before + 1);
      socket.once("close", () => {
        const left = (open.get(from) ?? 1) - 1;
        if (left === 0) open.delete(from);
        else open.set(from, left);
      });
      return true;
    },
    guesses: countGuesses(nowMs),
    guard: onlyShowing,
    print: async () => {
      throw new RangeError(`${ONLY_SHOWS}, and print there`);
    },
    headers: NETWORK_HEADERS,
    words: { noSession: SCAN_ANEW, usedLink: `This code was used before. ${SCAN_ANEW}`, remedy: "choose another address" },
  };
}

/** Of the page's root element, as src/renderer/index.html has it. */
const UNMARKED = 'data-only-shows="no"';
const MARKED = 'data-only-shows="yes"';

/** The screens, marked as those that only show. A page of another form throws: unmarked it would offer what it cannot do. */
export function onlyShowingFiles(files: ReadonlyMap<string, PageFile>): ReadonlyMap<string, PageFile> {
  return new Map(
    [...files].map(([path, file]) => {
      if (!file.type.startsWith("text/html")) return [path, file];
      const text = new TextDecoder().decode(file.bytes);
      if (!text.includes(UNMARKED)) throw new Error(`${path}: expected ${UNMARKED}; run npm run build`);
      return [path, { ...file, bytes: new TextEncoder().encode(text.replace(UNMARKED, MARKED)) }];
    }),
  );
}
