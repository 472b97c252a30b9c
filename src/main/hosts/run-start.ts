/**
 * What every start with screens has in common: reads the options, opens a window if there can be one, otherwise the same screens and book in
 * the browser, with the reason in one line. Bad usage exits with 2, failure with 1.
 */
import { mkdirSync, statSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { ownModule } from "../own-modules.ts";
import { endWithParent } from "./end-with-parent.ts";
import { createLogLine, outliveTerminal } from "./log-line.ts";
import { coreArguments, readStartOptions, startHelp, type StartOptions } from "./start-options.ts";
import { runWeb } from "./web/run-web.ts";
import { wordsOf } from "../../shared/kernel/words-of.ts";

const say = createLogLine("start");

/** Anything that runs until it is closed. */
interface Running {
  close(): Promise<void>;
}

export interface StartWays {
  /** What people type to start it: `npm start --`, `gripbook`. */
  readonly typed: string;
  /** The folder of the built screens. */
  screensFolder(): Promise<string>;
  /** Shows the window until it is closed: null. Otherwise why there is none. `running` gets what is to be closed. Absent: always in the browser. */
  showWindow?(options: StartOptions, running: (shell: Running) => void): Promise<string | null>;
}

/** Checked before an address is printed that could not open anything; then the book's folder is there. */
export function prepareBook({ bookFile, bookAlone }: Pick<StartOptions, "bookFile" | "bookAlone">): void {
  const found = statSync(bookFile, { throwIfNoEntry: false });
  if (found?.isDirectory())
    throw new RangeError(
      `start: --book ${bookFile} is a folder, and a book is a file; name one in it, as ${join(bookFile, "day.gripbook")}`,
    );
  if (bookAlone && found === undefined) throw new RangeError(`start: ${bookFile} is not there; a new book is made with --book FILE`);
  mkdirSync(dirname(bookFile), { recursive: true, mode: 0o700 });
}

async function start(argv: readonly string[], ways: StartWays): Promise<void> {
  if (argv.includes("--help") || argv.includes("-h")) {
    process.stdout.write(startHelp(ways.typed));
    return;
  }
  const options = readStartOptions(argv, { platform: process.platform, environment: process.env, workingFolder: process.cwd() });
  prepareBook(options);
  let close: () => Promise<void> = async () => undefined;
  endWithParent(() => close(), say);
  if (!options.web && ways.showWindow !== undefined) {
    const why = await ways
      .showWindow(options, (shell) => {
        close = shell.close;
      })
      .catch(wordsOf);
    if (why === null) return;
    say(`${why}; showing the screens in a browser instead`);
  }
  const running = await runWeb({
    coreEntry: fileURLToPath(ownModule("ingest")),
    coreArguments: coreArguments(options),
    screensFolder: await ways.screensFolder(),
    port: options.port,
    open: options.open,
  });
  close = running.close;
}

export function runStart(ways: StartWays): void {
  outliveTerminal();
  start(process.argv.slice(2), ways).catch((error: unknown) => {
    say(wordsOf(error));
    process.exitCode = error instanceof RangeError ? 2 : 1;
  });
}
