/**
 * The web host as a process of its own, between browsers and the launcher. It holds nothing that is not in the launcher as well, so it may die at any
 * time; it ends with the launcher. A port that can't be opened is told and ends it with 1.
 */
import { createLogLine, outliveTerminal } from "../log-line.ts";
import { readPageFiles } from "../page-files.ts";
import { coreOverLauncher } from "./core-over-launcher.ts";
import type { Begin, FromHost } from "./host-messages.ts";
import { startWebHost, type WebHost } from "./web-host.ts";
import { wordsOf } from "../../../shared/kernel/words-of.ts";

/** Longer than a browser takes to die. */
const LAST_MS = 3_000;

outliveTerminal();
const report = createLogLine("web");
let host: WebHost | null = null;
const send = (message: FromHost) => {
  // A launcher that has gone in this very moment is told by "disconnect".
  if (process.connected) process.send?.(message, undefined, undefined, () => undefined);
};

async function begin({ secret, spent, port, screensFolder }: Begin): Promise<void> {
  const core = coreOverLauncher(send);
  process.on("message", core.take);
  try {
    host = await startWebHost({
      core,
      files: readPageFiles(screensFolder),
      port,
      secret,
      spent,
      onEntered: (nonce) => send({ kind: "entered", nonce }),
      report,
    });
    send({ kind: "listening", port: host.port });
  } catch (error) {
    const line = wordsOf(error);
    const isTaken = ((error as Error).cause as { code?: unknown } | undefined)?.code === "EADDRINUSE";
    process.send?.({ kind: "refused", line, isTaken } satisfies FromHost, undefined, undefined, () => process.exit(1));
  }
}

process.once("message", (message) => void begin(message as Begin));
// With its pages gone a print is ended, and its folder removed; after that nothing holds the process.
process.once("disconnect", () => {
  void host?.close();
  setTimeout(() => process.exit(), LAST_MS).unref();
});
// Ctrl-C reaches every process of a terminal; the launcher closes the recording first, and then ends this one.
for (const signal of ["SIGINT", "SIGHUP"] as const) process.on(signal, () => undefined);
