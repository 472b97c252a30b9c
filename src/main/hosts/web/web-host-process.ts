/**
 * A web host as a process of its own, between browsers and the launcher: for this machine, or only showing at an address of the local
 * network. It holds nothing that the launcher does not hold too, so it may die at any time; it exits with the launcher. A port that cannot
 * be opened, or an address that must not be or is no more, is reported, and the process exits with 1.
 */
import { networkInterfaces } from "node:os";
import { hostPort } from "../../ingest/host-port.ts";
import { createLogLine, outliveTerminal } from "../log-line.ts";
import { networkReach, onlyShowingFiles } from "../network/network-reach.ts";
import { privateAddress } from "../network/private-address.ts";
import { readPageFiles } from "../page-files.ts";
import { coreOverLauncher } from "./core-over-launcher.ts";
import type { Begin, FromHost } from "./host-messages.ts";
import { startWebHost, type WebHost, type WebHostOptions } from "./web-host.ts";
import { wordsOf } from "../../../shared/kernel/words-of.ts";

/** Longer than a browser takes to exit. */
const LAST_MS = 3_000;
/** How often the launcher hears that this process still works. */
const ALIVE_MS = 1_000;
const LAST_WORDS_MS = 200;
/** How often the address is looked at. */
const LOOK_MS = 1_000;

outliveTerminal();
const launcher = hostPort();
let host: WebHost | null = null;
const send = (message: FromHost) => launcher.send(message);

/** Says why, and ends. */
function refuse(error: unknown): void {
  const isTaken = ((error as Error).cause as { code?: unknown } | undefined)?.code === "EADDRINUSE";
  send({ kind: "refused", line: wordsOf(error), isTaken });
  void host?.close();
  // Sent before it ends.
  setTimeout(() => process.exit(1), LAST_WORDS_MS);
}

/** What only the network's host has: its address is looked at again and again, since another network may give it to another computer. */
function networkOptions(address: string, files: WebHostOptions["files"]): Partial<WebHostOptions> {
  const look = () => privateAddress(address, networkInterfaces());
  const watch = setInterval(() => {
    try {
      look();
    } catch (error) {
      clearInterval(watch);
      refuse(error);
    }
  }, LOOK_MS);
  return {
    reach: networkReach(look()),
    files: onlyShowingFiles(files),
    onPages: (pages) => send({ kind: "pages", pages }),
  };
}

async function begin({ secret, spent, port, screensFolder, network }: Begin): Promise<void> {
  const core = coreOverLauncher(send);
  launcher.onMessage(core.take);
  try {
    const files = readPageFiles(screensFolder);
    host = await startWebHost({
      core,
      files,
      ...(network === null ? {} : networkOptions(network, files)),
      port,
      secret,
      spent,
      onEntered: (nonce) => send({ kind: "entered", nonce }),
      report: createLogLine(network === null ? "web" : "network"),
    });
    send({ kind: "listening", port: host.port });
    setInterval(() => send({ kind: "alive" }), ALIVE_MS).unref();
  } catch (error) {
    refuse(error);
  }
}

let begun = false;
launcher.onMessage((message) => {
  if (begun) return;
  begun = true;
  void begin(message as Begin);
});
// Without its pages a print is ended and its folder removed; after that nothing keeps the process.
launcher.onLost(() => {
  void host?.close();
  setTimeout(() => process.exit(), LAST_MS).unref();
});
// Ctrl-C reaches every process of a terminal; the launcher closes the recording first, and then ends this process.
for (const signal of ["SIGINT", "SIGHUP"] as const) process.on(signal, () => undefined);
