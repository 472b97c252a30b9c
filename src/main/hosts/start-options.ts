/** Reads the arguments of a start with screens and chooses the book. A wrong argument throws RangeError, one line that says what is possible. */
import { join, resolve } from "node:path";
import { fileURLToPath } from "node:url";
import { parseArgs } from "node:util";
import { controlFrom } from "../../shared/simulation/control-text.ts";
import { dataFolder, type Surroundings } from "../disk/data-folder.ts";

const BOOK_ENDING = ".gripbook";

export interface StartOptions {
  readonly bookFile: string;
  /** A book was named alone, as by a double click: it is shown, with the set-up that it belongs to. */
  readonly bookAlone: boolean;
  /** null: the built-in simulated car, or the set-up of a book that was named alone. */
  readonly setUpFile: string | null;
  /** The setting of the simulated car's control, as typed; absent: as usual. */
  readonly control?: string;
  /** Where the last measured own car is remembered. */
  readonly rememberFile: string;
  readonly web: boolean;
  /** null: the usual port, or any free one where it is taken. 0: any free port. */
  readonly port: number | null;
  readonly open: boolean;
}

/** What `--help` prints; `typed` is what people type to start it. */
export const startHelp = (typed: string): string => `${typed} [options]
  FILE.gripbook  shows this book, with the set-up it was measured with, or the one of the same name beside it; no simulated car drives into it
  --book FILE    the book that runs go into; without it one in your data folder, another for the simulated car than for a real one
  --setup FILE   your own car; without it a simulated car drives, and a new book begins with a day of its runs
  --control TEXT  how the simulated car's control is set, slip=0.11,every=0.01,late=0.02,strength=1 or some of these
  --web          in a browser on this machine, not in a window of its own
  --port N       the browser's port on this machine; without it 61733, or any free one where another program has that
  --no-open      prints the address, and opens no browser
  --help         this
`;

/** The surroundings of the start: folders, environment. */
export interface StartSurroundings extends Surroundings {
  readonly workingFolder: string;
}

function parse(argv: readonly string[]) {
  try {
    return parseArgs({
      args: [...argv],
      allowPositionals: true,
      options: {
        book: { type: "string" },
        setup: { type: "string" },
        control: { type: "string" },
        web: { type: "boolean", default: false },
        port: { type: "string" },
        "no-open": { type: "boolean", default: false },
      },
    });
  } catch (cause) {
    const why = cause instanceof Error ? cause.message.split(". ")[0] : String(cause);
    throw new RangeError(
      `start: ${why}; understood are FILE.gripbook, --book FILE, --setup FILE, --control TEXT, --web, --port N, --no-open`,
      { cause },
    );
  }
}

const bookOf = (book: string | undefined, usual: string, surroundings: StartSurroundings): string =>
  book === undefined ? join(dataFolder(surroundings), usual) : resolve(surroundings.workingFolder, book);

/** The book that was named without an option; desktops name a file by its path or its address. */
function bookNamed(positionals: readonly string[], { workingFolder }: StartSurroundings): string | null {
  const [named] = positionals;
  if (named === undefined) return null;
  if (positionals.length > 1) throw new RangeError(`start: one book at a time: ${positionals.length} were named`);
  const file = named.startsWith("file:") ? fileURLToPath(named) : resolve(workingFolder, named);
  if (!file.endsWith(BOOK_ENDING))
    throw new RangeError(`start: ${JSON.stringify(named)} is no book: expected FILE${BOOK_ENDING}, or --book FILE`);
  return file;
}

/** Arguments to options. Simulated and real runs share a book only when one is named. */
export function readStartOptions(argv: readonly string[], surroundings: StartSurroundings): StartOptions {
  const { values, positionals } = parse(argv);
  const bookAlone = bookNamed(positionals, surroundings);
  if (bookAlone !== null && [values.book, values.setup, values.control].some((value) => value !== undefined))
    throw new RangeError(
      `start: ${positionals[0]} alone is shown as it is: leave out --book, --setup and --control, or name it with --book`,
    );
  const port = values.port === undefined ? null : Number(values.port);
  if (port !== null && (!Number.isInteger(port) || port < 0 || port > 65535)) {
    throw new RangeError(`start: --port: expected 0 to 65535, got ${JSON.stringify(values.port)}`);
  }
  if (values.control !== undefined) {
    if (values.setup !== undefined) throw new RangeError("start: --control sets the simulated car: leave out --setup, or --control");
    try {
      controlFrom(values.control);
    } catch (cause) {
      throw new RangeError(`start: --control: ${cause instanceof Error ? cause.message : String(cause)}`, { cause });
    }
  }
  const setUpFile = values.setup === undefined ? null : resolve(surroundings.workingFolder, values.setup);
  const name = setUpFile === null ? "simulated-day.gripbook" : "test-days.gripbook";
  const bookFile = bookAlone ?? bookOf(values.book, name, surroundings);
  return {
    bookFile,
    bookAlone: bookAlone !== null,
    setUpFile,
    ...(values.control === undefined ? {} : { control: values.control }),
    rememberFile: join(dataFolder(surroundings), "last-car.json"),
    web: values.web,
    port,
    open: !values["no-open"],
  };
}

/** The arguments for the measuring process. */
export function coreArguments({
  bookFile,
  bookAlone,
  setUpFile,
  control,
  rememberFile,
}: Pick<StartOptions, "bookFile" | "bookAlone" | "setUpFile" | "control" | "rememberFile">): string[] {
  if (bookAlone) return ["--book", bookFile, "--own", "--remember", rememberFile];
  const car = setUpFile === null ? ["--simulated", ...(control === undefined ? [] : ["--control", control])] : ["--setup", setUpFile];
  return ["--book", bookFile, ...car, "--remember", rememberFile];
}
