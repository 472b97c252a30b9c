/**
 * A bus and a receiver on two PTYs. Each CAN frame carries its own number, usually one a millisecond while the adapter listens, so that what a book holds
 * can be counted against what was written. The receiver is the simulated car's.
 */
import { closeSync, constants, mkdtempSync, openSync, readSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { openSqliteBook } from "../../src/main/adapters/sqlite/sqlite-book.ts";
import type { Book } from "../../src/main/ports/book.ts";
import { carSetUp, carSignalFile } from "../../src/shared/simulation/car-files.ts";
import { createLiveCar } from "../../src/shared/simulation/live-car.ts";
import { answerLikeAdapter, createPtyDevice, type PtyDevice } from "../support/pty-device.ts";
import { until } from "./fault.ts";

const STEP_MS = 5;
/** Where this process was not let run for longer, the bus had stood still meanwhile: no bus sends seconds at once. */
const MOST_AT_ONCE_MS = 100;
const LINE = /t0F08([0-9A-F]{16})\r/g;

export interface WiredBus {
  readonly folder: string;
  readonly setUpFile: string;
  readonly bookFile: string;
  readonly adapter: PtyDevice;
  readonly receiver: PtyDevice;
  /** Frames written so far: the next one's number. */
  readonly sent: number;
  /** When a frame was written, ms of performance.now(). */
  writtenMs(number: number): number;
  /** How often the adapter was opened. */
  readonly opened: number;
  /** Frames written since it was opened last. */
  readonly sentSinceOpened: number;
  end(): Promise<void>;
}

const frameOf = (number: number) => `t0F08${number.toString(16).toUpperCase().padStart(16, "0")}\r`;

/** `framesPerMs`: 8.756 is a full bus of 1 Mbit/s (docs/check-values.md). */
export async function startWiredBus(framesPerMs = 1): Promise<WiredBus> {
  const folder = mkdtempSync(join(tmpdir(), "gripbook-faults-"));
  const [receiver, adapter] = [await createPtyDevice(), await createPtyDevice()];
  await receiver.plug();
  await adapter.plug();
  const { sources: _, ...car } = carSetUp({ frontWheelSensors: true, rearWheelSensors: true, stamps: false });
  const sources = {
    gnss: { port: receiver.path, baud: 115200 },
    can: { port: adapter.path, baud: 115200, bitrate: 500000, adapterClock: false },
  };
  const setUpFile = join(folder, "car.json");
  // What a web host needs of screens, where one is started.
  writeFileSync(join(folder, "index.html"), "<!doctype html>");
  writeFileSync(join(folder, "car.dbc"), carSignalFile());
  writeFileSync(setUpFile, JSON.stringify({ ...car, sources }));
  const state = { listening: false, opened: 0, sent: 0, openedAt: 0 };
  answerLikeAdapter(adapter, {
    onOpen() {
      state.listening = true;
      state.opened += 1;
      state.openedAt = state.sent;
    },
    onClose() {
      state.listening = false;
    },
  });
  const live = createLiveCar({ seed: 3, startUnixS: Math.floor(Date.now() / 1000) });
  const startMs = performance.now();
  const writtenMs: number[] = [];
  let doneFrames = 0;
  const feed = setInterval(() => {
    const nowMs = Math.floor(performance.now() - startMs);
    for (const { stream, bytes } of live.advance(nowMs * 1000)) if (stream === "gnss") receiver.write(bytes);
    let text = "";
    const atMs = performance.now();
    doneFrames = Math.max(doneFrames, Math.floor((nowMs - MOST_AT_ONCE_MS) * framesPerMs));
    for (; doneFrames < nowMs * framesPerMs; doneFrames += 1) {
      if (!state.listening) continue;
      text += frameOf(state.sent);
      writtenMs.push(atMs);
      state.sent += 1;
    }
    if (text !== "") adapter.write(text);
  }, STEP_MS);
  return {
    folder,
    setUpFile,
    bookFile: join(folder, "day.gripbook"),
    adapter,
    receiver,
    get sent() {
      return state.sent;
    },
    writtenMs: (number) => writtenMs[number] ?? Number.NaN,
    get opened() {
      return state.opened;
    },
    get sentSinceOpened() {
      return state.sent - state.openedAt;
    },
    async end() {
      clearInterval(feed);
      await receiver.dispose();
      await adapter.dispose();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

/**
 * What waits in the line when nobody reads it any more: the number of the first whole frame there, or of the next that is written; read away, so that the
 * next opening begins afresh. socat holds the port open as a cable would not: a real port forgets these bytes as it is closed.
 */
export async function firstUnread(bus: WiredBus, sent: number): Promise<number> {
  const descriptor = openSync(bus.adapter.path, constants.O_RDWR | constants.O_NOCTTY | constants.O_NONBLOCK);
  let text = "";
  const numbers = () => [...text.matchAll(LINE)].map((match) => Number.parseInt(match[1] ?? "", 16));
  try {
    await until(() => {
      text += readAll(descriptor);
      return (numbers().at(-1) ?? -1) >= sent;
    }, "what was written arrives at the port");
    return Math.min(sent, numbers()[0] as number);
  } finally {
    closeSync(descriptor);
  }
}

function readAll(descriptor: number): string {
  const bytes = Buffer.alloc(64 * 1024);
  let text = "";
  try {
    for (;;) text += bytes.toString("latin1", 0, readSync(descriptor, bytes));
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== "EAGAIN") throw error;
    return text;
  }
}

/** A line at a time: an hour of a full bus is longer than the longest string. */
function numbersOf(book: Book, recording: number): number[] {
  const numbers: number[] = [];
  let rest = "";
  for (const { stream, bytes } of book.packets(recording)) {
    if (stream !== "can") continue;
    const text = rest + Buffer.from(bytes).toString("latin1");
    const end = text.lastIndexOf("\r") + 1;
    rest = text.slice(end);
    for (const match of text.slice(0, end).matchAll(LINE)) numbers.push(Number.parseInt(match[1] ?? "", 16));
  }
  return numbers;
}

/** The numbers of every frame that a book holds, a list a recording, in the order stored. */
export function storedNumbers(file: string): number[][] {
  const book = openSqliteBook({ file, create: false });
  try {
    return book.recordings().map(({ id }) => numbersOf(book, id));
  } finally {
    book.close();
  }
}

/** Numbers that are missing between the first and the last of one recording. */
export function holesIn(numbers: readonly number[]): number {
  return numbers.length === 0 ? 0 : (numbers.at(-1) ?? 0) - (numbers[0] ?? 0) + 1 - numbers.length;
}

/** What SQLite and the journal's own sequence say of a book; empty where nothing is wrong. */
export function faultsOf(file: string): string[] {
  const book = openSqliteBook({ file, create: false });
  try {
    return [...book.integrityFaults(), ...book.recordings().flatMap(({ id }) => book.journalFaults(id))];
  } finally {
    book.close();
  }
}

/** Bytes of one frame's line. */
export const FRAME_BYTES = frameOf(0).length;
