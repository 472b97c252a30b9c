/** `npm start`: the Electron shell where its runtime is there or comes within 20 s, else the loopback host. Bad usage ends with 2, failure with 1. */
import { mkdirSync, statSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { endWithParent } from "./end-with-parent.ts";
import { createLogLine, outliveTerminal } from "./log-line.ts";
import { findElectron, runElectron } from "./electron/electron-runtime.ts";
import { ensureScreens } from "./screens-build.ts";
import { coreArguments, readStartOptions, START_HELP, type StartOptions } from "./start-options.ts";
import { runWeb } from "./web/run-web.ts";

const root = fileURLToPath(new URL("../../..", import.meta.url));
const say = createLogLine();

async function startWeb(options: StartOptions): Promise<void> {
  const running = await runWeb({
    coreEntry: fileURLToPath(new URL("../ingest/ingest-process.ts", import.meta.url)),
    coreArguments: coreArguments(options),
    screensFolder: await ensureScreens(root),
    port: options.port,
    open: options.open,
  });
  endWithParent(running.close);
}

async function start(argv: readonly string[]): Promise<void> {
  if (argv.includes("--help") || argv.includes("-h")) {
    process.stdout.write(START_HELP);
    return;
  }
  const options = readStartOptions(argv, { platform: process.platform, environment: process.env, workingFolder: process.cwd() });
  // Before an address is printed that could open nothing.
  if (statSync(options.bookFile, { throwIfNoEntry: false })?.isDirectory())
    throw new RangeError(
      `start: --book ${options.bookFile} is a folder, and a book is a file; name one in it, as ${join(options.bookFile, "day.gripbook")}`,
    );
  mkdirSync(dirname(options.bookFile), { recursive: true });
  if (options.web) return startWeb(options);
  const electron = await findElectron();
  if (electron.executable === null) {
    say(`${electron.why}; showing the screens in a browser instead`);
    return startWeb(options);
  }
  process.exitCode = await runElectron({
    executable: electron.executable,
    root,
    screensFolder: await ensureScreens(root),
    coreArguments: coreArguments(options),
  });
}

outliveTerminal();
start(process.argv.slice(2)).catch((error: unknown) => {
  say(error instanceof Error ? error.message : String(error));
  process.exitCode = error instanceof RangeError ? 2 : 1;
});
