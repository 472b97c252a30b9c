/**
 * The measuring process: runs the core behind a host's messages, either as a Node child or as an Electron utility process. What cannot be
 * opened ends it with one line on stderr; SIGTERM, SIGINT, a lost host and `close` all close the recording first.
 */
import { parseArgs } from "node:util";
import type { CoreEvent } from "../../shared/contract/contract.ts";
import { oneLine } from "../../shared/kernel/one-line.ts";
import { composeLive, type FirstDay } from "../compose.ts";
import { tellOpened } from "../open-book.ts";
import { exitCodeOf, lineOf } from "../core/basics/failure.ts";

/** Also wakes serial drivers that report bytes only when some timer fires. */
const HEARTBEAT_MS = 5;
/** Steps of the first import between two looks at requests. */
const IMPORT_SLICE_MS = 20;
/** Share of storing in the first import; the rest is deriving. */
const DAY_STORED = 0.6;
/** The rod is moved by steps that can be seen. */
const LEAST_SHARE = 0.005;

interface HostPort {
  send(message: unknown): void;
  onMessage(listener: (message: unknown) => void): void;
  onLost(listener: () => void): void;
}

interface UtilityPort {
  postMessage(message: unknown): void;
  on(name: "message", listener: (event: { data: unknown }) => void): void;
}

function hostPort(): HostPort {
  const { parentPort } = process as unknown as { parentPort?: UtilityPort };
  if (parentPort !== undefined && parentPort !== null) {
    return {
      send: (message) => parentPort.postMessage(message),
      onMessage: (listener) => parentPort.on("message", (event) => listener(event.data)),
      // Electron ends its utility processes with a signal.
      onLost: () => undefined,
    };
  }
  return {
    send(message) {
      if (process.connected) process.send?.(message);
    },
    onMessage: (listener) => process.on("message", listener),
    onLost: (listener) => process.on("disconnect", listener),
  };
}

function readArguments(): { bookFile: string; setUpFile: string | null; rememberFile: string | null } {
  const { values } = parseArgs({
    options: {
      book: { type: "string" },
      setup: { type: "string" },
      simulated: { type: "boolean", default: false },
      remember: { type: "string" },
    },
  });
  if (values.book === undefined) throw new RangeError("Expected --book FILE");
  if (values.simulated === (values.setup !== undefined)) throw new RangeError("Expected either --setup FILE or --simulated");
  return { bookFile: values.book, setUpFile: values.setup ?? null, rememberFile: values.remember ?? null };
}

function run(host: HostPort): void {
  /** What is told of may bear any name. */
  const shown = (event: CoreEvent): CoreEvent =>
    event.event === "notice" && event.text !== null ? { ...event, text: oneLine(event.text) } : event;
  const emit = (event: CoreEvent) => host.send({ kind: "event", event: shown(event) });
  const { bookFile, setUpFile, rememberFile } = readArguments();
  const { core, book, mended, firstDay } = composeLive({ bookFile, setUpFile, rememberFile, emit, alwaysArmed: false, label: "" });
  let heartbeat: ReturnType<typeof setInterval> | undefined;
  let ending = false;
  let stopDay = false;
  let toldDay = { words: "", share: 0 };

  async function end(code: number): Promise<void> {
    if (ending) return;
    ending = true;
    let exitCode = code;
    try {
      await core.close();
    } catch (error) {
      process.stderr.write(`${lineOf(error)}\n`);
      exitCode = 1;
    }
    clearInterval(heartbeat);
    book.close();
    process.exit(exitCode);
  }

  host.onMessage((raw) => {
    const { kind, id, name, argument } = (raw ?? {}) as Record<string, unknown>;
    if (kind === "close") return void end(0);
    if (kind !== "request" || typeof id !== "number") return;
    // The day is driven here and not in the core: what was driven by now is kept.
    if (name === "work.cancel" && (argument as { work?: unknown } | null)?.work === "first-day") stopDay = true;
    core.request(String(name), argument).then(
      (answer) => host.send({ kind: "answer", id, ok: true, answer }),
      (error: unknown) => host.send({ kind: "answer", id, ok: false, error: lineOf(error) }),
    );
  });
  host.onLost(() => void end(0));
  for (const signal of ["SIGINT", "SIGTERM", "SIGHUP"] as const) process.on(signal, () => void end(0));

  tellOpened(mended, emit);

  function begin(): void {
    core.start();
    heartbeat = setInterval(() => core.beat(), HEARTBEAT_MS);
  }

  const tellDay = (words: string | null, share: number | null) =>
    emit({ event: "work", work: "first-day", words, share, cancellable: words !== null && !stopDay });

  function importDay(day: FirstDay): void {
    const until = performance.now() + IMPORT_SLICE_MS;
    while (performance.now() < until && !ending) {
      const step = day.steps.next(stopDay ? "stop" : undefined);
      if (step.done === true) {
        tellDay(null, null);
        begin();
        return;
      }
      const { doing, storedS, derived } = step.value;
      const share = DAY_STORED * Math.min(1, storedS / day.lengthS) + (1 - DAY_STORED) * derived;
      const words =
        doing === "storing"
          ? `Driving a simulated day so that the book is not empty: ${Math.floor(storedS / 60)} minutes so far`
          : "Timing the launches of the simulated day";
      if (words === toldDay.words && share - toldDay.share < LEAST_SHARE) continue;
      toldDay = { words, share };
      tellDay(words, share);
    }
    if (!ending) setImmediate(() => importDay(day));
  }

  host.send({ kind: "ready" });
  if (firstDay === null) begin();
  else importDay(firstDay);
}

// A launcher or a terminal that has gone reads nothing more; the recording is closed all the same.
for (const stream of [process.stdout, process.stderr]) stream.on("error", () => undefined);
try {
  run(hostPort());
} catch (error) {
  process.stderr.write(`${lineOf(error)}\n`);
  process.exitCode = exitCodeOf(error);
  process.disconnect?.();
}
