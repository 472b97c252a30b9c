/**
 * `npm start`: opens a window, if its page says that it is shown; otherwise the same screens and book in the browser, with the reason in
 * one line. Bad usage exits with 2, failure with 1.
 */
import { mkdirSync, statSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { endWithParent } from "./end-with-parent.ts";
import { createLogLine, outliveTerminal } from "./log-line.ts";
import { findElectron } from "./electron/find-electron.ts";
import { runShell } from "./electron/run-shell.ts";
import { ensureShell } from "./electron/shell-build.ts";
import { whyNoWindow } from "./electron/why-no-window.ts";
import { ensureScreens } from "./screens-build.ts";
import { coreArguments, readStartOptions, START_HELP, type StartOptions } from "./start-options.ts";
import { runWeb } from "./web/run-web.ts";
import { wordsOf } from "../../shared/kernel/words-of.ts";

const root = fileURLToPath(new URL("../../..", import.meta.url));
const say = createLogLine("start");
/** For a shorter wait no message is needed. */
const QUIET_MS = 2_000;
/** Closes what is running now. */
let close: () => Promise<void> = async () => undefined;

async function startWeb(options: StartOptions): Promise<void> {
  const running = await runWeb({
    coreEntry: fileURLToPath(new URL("../ingest/ingest-process.ts", import.meta.url)),
    coreArguments: coreArguments(options),
    screensFolder: await ensureScreens(root),
    port: options.port,
    open: options.open,
  });
  close = running.close;
}

/** Shows the window until it is closed: null. Otherwise why there is none. */
async function startWindow(options: StartOptions): Promise<string | null> {
  const no = whyNoWindow({ platform: process.platform, environment: process.env, userId: process.getuid?.() });
  if (no !== null) return no;
  const slow = setTimeout(
    () => say("Fetching what a window of its own needs, once; if that takes long, the browser comes first"),
    QUIET_MS,
  );
  const electron = await findElectron();
  clearTimeout(slow);
  if (electron.executable === null) return electron.why;
  // On Windows a program with a window has no input to watch.
  const how = process.platform === "win32" ? [] : ["--ends-with-input"];
  const shellArguments = [await ensureShell(root), ...how, "--screens", await ensureScreens(root), "--", ...coreArguments(options)];
  const shell = runShell({ executable: electron.executable, shellArguments });
  close = shell.close;
  return shell.ended;
}

async function start(argv: readonly string[]): Promise<void> {
  if (argv.includes("--help") || argv.includes("-h")) {
    process.stdout.write(START_HELP);
    return;
  }
  const options = readStartOptions(argv, { platform: process.platform, environment: process.env, workingFolder: process.cwd() });
  // Checked before an address is printed that could not open anything.
  if (statSync(options.bookFile, { throwIfNoEntry: false })?.isDirectory())
    throw new RangeError(
      `start: --book ${options.bookFile} is a folder, and a book is a file; name one in it, as ${join(options.bookFile, "day.gripbook")}`,
    );
  mkdirSync(dirname(options.bookFile), { recursive: true, mode: 0o700 });
  endWithParent(() => close(), say);
  if (options.web) return startWeb(options);
  const why = await startWindow(options).catch(wordsOf);
  if (why === null) return;
  say(`${why}; showing the screens in a browser instead`);
  return startWeb(options);
}

outliveTerminal();
start(process.argv.slice(2)).catch((error: unknown) => {
  say(wordsOf(error));
  process.exitCode = error instanceof RangeError ? 2 : 1;
});
