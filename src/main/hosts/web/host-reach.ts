/** From where a web host can be reached, and what it allows there. The loopback host's own; the local network's stands in hosts/network. */
import type { Socket } from "node:net";
import { checkRequest } from "../../../shared/contract/contract.ts";
import type { CoreLink } from "../core-process.ts";
import { PAGE_HEADERS } from "../page-headers.ts";
import { createPrintQueue } from "../print-queue.ts";
import { printReport } from "../print-report.ts";
import type { PrintReport } from "../report-page.ts";
import { NO_LIMIT, type WrongGuesses } from "./wrong-guesses.ts";

/** What one page may use. */
export interface PageLimits {
  /** Of one message. */
  readonly mostBytes: number;
  /** Requests whose answer the page's machine has not received yet; further ones wait, and the socket is not read. */
  readonly mostAsked: number;
  /** Open at once. */
  readonly mostPages: number;
  /** With a live event on its way for longer, further ones are skipped: what comes late looks like the present. Null: the way is short. */
  readonly lateMs: number | null;
}

export interface HostReach {
  /** The address that is opened. */
  readonly address: string;
  /** Tried first, so that the browser finds its settings again (it keeps them by address). */
  readonly usualPort: number;
  /** Under which names it is reached, each with the port. */
  names(port: number): readonly string[];
  readonly mostConnections: number;
  /** Within which a request must have come whole. */
  readonly slowestMs: number;
  readonly limits: PageLimits;
  /** Whether this connection is taken at all. */
  takes(socket: Socket): boolean;
  readonly guesses: WrongGuesses;
  /** The core as a page has it: it checks every request, and refuses what is not for this reach. */
  guard(core: CoreLink): CoreLink;
  readonly print: PrintReport;
  /** Of every page, script and font. */
  readonly headers: Readonly<Record<string, string>>;
  readonly words: {
    /** To who has no session. */
    readonly noSession: string;
    /** To who comes with a used or wrong link. */
    readonly usedLink: string;
    /** Where the port cannot be opened. */
    readonly remedy: string;
  };
}

/** In the range for private use (RFC 6335, section 6), above the ports that systems assign first. */
export const USUAL_PORT = 61733;

/** Everything that the contract has. */
const checking = (core: CoreLink): CoreLink => ({
  async request(name, argument) {
    const checked = checkRequest(name, argument);
    return core.request(checked.name, checked.argument);
  },
  onEvent: core.onEvent,
});

/** This machine alone. */
export const LOOPBACK: HostReach = {
  address: "127.0.0.1",
  usualPort: USUAL_PORT,
  names: (port) => [`127.0.0.1:${port}`, `localhost:${port}`, `[::1]:${port}`],
  // A handful of windows needs a handful of connections each; connections beyond this, from other programs, are refused.
  mostConnections: 256,
  slowestMs: 60_000,
  // A signal file is sent whole; the largest public ones are under 3 MB.
  limits: { mostBytes: 8 * 1024 * 1024, mostAsked: 16, mostPages: 256, lateMs: null },
  takes: () => true,
  guesses: NO_LIMIT,
  guard: checking,
  print: createPrintQueue(printReport),
  headers: PAGE_HEADERS,
  words: {
    noSession: "Open the address that Gripbook printed when it started; it lets this browser in.",
    usedLink: "This link was used before. Open the newest address that Gripbook printed.",
    remedy: "give another with --port",
  },
};
