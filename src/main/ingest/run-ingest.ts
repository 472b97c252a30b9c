/**
 * The work of the measuring process: runs the core and handles a host's messages. What cannot be opened throws one line. SIGTERM, SIGINT, a
 * lost host and `close` all close the recording first.
 */
import { parseArgs } from "node:util";
import type { CoreEvent, CoreRequestName } from "../../shared/contract/contract.ts";
import { oneLine } from "../../shared/kernel/one-line.ts";
import { composeScreens, setUpOf } from "../compose.ts";
import { tellOpened } from "../open-book.ts";
import { lineOf } from "../core/basics/failure.ts";
import { createLog } from "../disk/log.ts";
import { rowOf } from "../core/library/library.ts";
import type { Clock } from "../ports/clock.ts";
import { driveFirstDay, type FirstDayDrive } from "./drive-first-day.ts";
import { deriveRecovered, type RecoveryDrive } from "./derive-recovered.ts";
import type { HostPort } from "./host-port.ts";

/** This also wakes serial drivers that report bytes only when a timer fires. */
const HEARTBEAT_MS = 5;
/** How often the host hears that this process still works. */
const ALIVE_MS = 1_000;

function readArguments(): { bookFile: string; setUpFile: string | null; rememberFile: string | null; control: string | null } {
  const { values } = parseArgs({
    options: {
      book: { type: "string" },
      setup: { type: "string" },
      simulated: { type: "boolean", default: false },
      own: { type: "boolean", default: false },
      remember: { type: "string" },
      control: { type: "string" },
    },
  });
  if (values.book === undefined) throw new RangeError("Expected --book FILE");
  if (values.own) return { bookFile: values.book, ...setUpOf(values.book, values.remember ?? null), control: null };
  if (values.simulated === (values.setup !== undefined)) throw new RangeError("Expected --setup FILE, --simulated or --own");
  return { bookFile: values.book, setUpFile: values.setup ?? null, rememberFile: values.remember ?? null, control: values.control ?? null };
}

export function runIngest(host: HostPort, clock: Clock): void {
  const log = createLog("measuring");
  /** The names in an event may contain anything, so its texts are cleaned. */
  const shown = (event: CoreEvent): CoreEvent =>
    event.event === "notice" && event.text !== null ? { ...event, text: oneLine(event.text) } : event;
  const emit = (event: CoreEvent) => {
    if (event.event === "notice") log("warn", event.text === null ? `over: ${event.key}` : `${event.key}: ${event.text}`);
    host.send({ kind: "event", event: shown(event) });
  };
  const { core, book, opened, recovery, firstDay } = composeScreens({ ...readArguments(), emit, clock });
  let heartbeat: ReturnType<typeof setInterval> | undefined;
  let ending = false;
  let day: FirstDayDrive | null = null;
  let recovering: RecoveryDrive | null = null;

  async function end(code: number): Promise<void> {
    if (ending) return;
    ending = true;
    day?.leave();
    recovering?.leave();
    let exitCode = code;
    try {
      await core.close();
    } catch (error) {
      process.stderr.write(`${lineOf(error)}\n`);
      log("error", `closing: ${lineOf(error)}`);
      exitCode = 1;
    }
    clearInterval(heartbeat);
    book.close();
    log("info", `ended with ${exitCode}`);
    process.exit(exitCode);
  }

  /** The host checked name and argument where they came in. */
  async function answer(name: CoreRequestName, argument: unknown): Promise<unknown> {
    // The simulated day is stored here and not in the core.
    if (name === "work.cancel" && (argument as { work?: unknown }).work === "first-day") day?.stop();
    // The same for recordings whose process died.
    if (name === "work.cancel" && (argument as { work?: unknown }).work === "closing") recovering?.stop();
    return core.request(name, argument as never);
  }

  host.onMessage((raw) => {
    const { kind, id, name, argument } = (raw ?? {}) as Record<string, unknown>;
    if (kind === "close") return void end(0);
    if (kind !== "request" || typeof id !== "number") return;
    // An answer that cannot be sent is a failure of that request only.
    answer(String(name) as CoreRequestName, argument)
      .then((answered) => host.send({ kind: "answer", id, ok: true, answer: answered }))
      .catch((error: unknown) => host.send({ kind: "answer", id, ok: false, error: lineOf(error) }));
  });
  host.onLost(() => void end(0));
  for (const signal of ["SIGINT", "SIGTERM"] as const) process.on(signal, () => void end(0));
  // A closed terminal tells every process of it; whether measuring ends with it is the launcher's to decide, and a window's process has none.
  process.on("SIGHUP", () => host.outlivesTerminal || void end(0));

  function begin(): void {
    core.start();
    heartbeat = setInterval(() => core.beat(), HEARTBEAT_MS);
  }

  log("info", `opened ${book.file}`);
  tellOpened(opened, emit);
  host.send({ kind: "ready" });
  setInterval(() => host.send({ kind: "alive" }), ALIVE_MS);
  recovering = deriveRecovered(recovery, emit, () => {
    recovering = null;
    if (firstDay === null) return begin();
    day = driveFirstDay(firstDay, emit, (runs) => {
      for (const id of runs) emit({ event: "runStored", run: rowOf(book.run(id)) });
      begin();
    });
  });
}
