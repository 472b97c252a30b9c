/**
 * Faults around a capture without screens over real PTYs: devices pulled, garbage and stalls, a book that disappears, a second process.
 */
import { mkdirSync, renameSync, rmSync } from "node:fs";
import { join } from "node:path";
import { createRandom } from "../../src/shared/simulation/random.ts";
import { whyNoPty } from "../support/pty-device.ts";
import { type Running, startGripbook } from "../support/run-gripbook.ts";
import { type Fault, lastLine, pause, type Tried, until } from "./fault.ts";
import { FRAME_BYTES, faultsOf, holesIn, startWiredBus, storedNumbers, type WiredBus } from "./wired-bus.ts";

/** What a pulled cable may lose: what was in it and in the line's buffers. */
const MOST_LOST_MS = 1000;

export interface Captured {
  readonly seen: string;
  readonly wrong: readonly string[];
  readonly lostFrames: number;
}

const capture = (bus: WiredBus, book = bus.bookFile): Running => startGripbook("capture", "--setup", bus.setUpFile, "--book", book);
export const flowing = (bus: WiredBus) => until(() => bus.opened > 0 && bus.sentSinceOpened > 300, "frames flow");

/** Ends a capture as Ctrl-C does. */
async function ended({ child, ended: end }: Running): Promise<{ code: number | null; err: string }> {
  child.kill("SIGINT");
  return end;
}

/** Each try on devices and a capture of its own. */
export async function each(times: number, once: (bus: WiredBus, i: number) => Promise<Captured>): Promise<Tried> {
  let [lost, seen] = [0, ""];
  const wrong: string[] = [];
  for (let i = 0; i < times; i += 1) {
    const bus = await startWiredBus();
    try {
      const captured = await once(bus, i);
      lost = Math.max(lost, captured.lostFrames);
      seen = captured.seen;
      wrong.push(...captured.wrong.map((line) => `try ${i + 1}: ${line}`));
    } finally {
      await bus.end();
    }
  }
  return { times, lostBytes: lost * FRAME_BYTES, lostMs: lost, seen, wrong };
}

/** Frames that are not in the book though they were written while somebody listened, up to `sent`. */
export function lostIn(file: string, sent: number): number {
  const numbers = storedNumbers(file).flat();
  return holesIn(numbers) + Math.max(0, sent - 1 - (numbers.at(-1) ?? -1));
}

async function pulled(bus: WiredBus, i: number): Promise<Captured> {
  const random = createRandom(7, `pull ${i}`);
  const which = i % 2 === 0 ? "adapter" : "receiver";
  const running = capture(bus);
  await flowing(bus);
  await pause(random.between(0, 1000));
  const opened = bus.opened;
  const sentAtPull = bus.sent;
  await bus[which].unplug();
  await pause(random.between(100, 1500));
  await bus[which].plug();
  if (which === "adapter") await until(() => bus.opened > opened, "the adapter is opened again");
  await until(() => bus.sentSinceOpened > 500, "frames flow again");
  const { code, err } = await ended(running);
  const numbers = storedNumbers(bus.bookFile).flat();
  const before = numbers.filter((number) => number < sentAtPull);
  const wrong = [
    ...(code === 0 ? [] : [`capture ended with ${code}`]),
    ...faultsOf(bus.bookFile),
    ...(which === "receiver" && holesIn(numbers) > 0 ? ["the bus has a hole though the receiver was pulled"] : []),
    ...(before.length > 0 && sentAtPull - 1 - (before.at(-1) ?? 0) > MOST_LOST_MS ? ["frames before the pull are missing"] : []),
  ];
  return { seen: err.split("\n").find((line) => /is gone|unplugged|lost|no longer/i.test(line)) ?? lastLine(err), wrong, lostFrames: 0 };
}

const NOISE: readonly ((random: ReturnType<typeof createRandom>) => Uint8Array | string)[] = [
  (random) => Uint8Array.from({ length: 2000 }, () => 0x80 + Math.floor(random.between(0, 127))),
  () => "\0".repeat(5000),
  () => "t0F08123",
  () => "x".repeat(100_000),
];

async function noise(bus: WiredBus, i: number): Promise<Captured> {
  const random = createRandom(9, `noise ${i}`);
  const running = capture(bus);
  await flowing(bus);
  const noisy = NOISE[i % NOISE.length]?.(random) ?? "";
  bus.adapter.write(noisy);
  await pause(random.between(100, 600));
  bus.receiver.write(Uint8Array.from({ length: 500 }, () => Math.floor(random.between(0, 255))));
  const sent = bus.sent;
  await until(() => bus.sent > sent + 600, "frames flow on");
  const { code, err } = await ended(running);
  const numbers = storedNumbers(bus.bookFile).flat();
  // A half line destroys the frame after it, as on a real bus: one frame at most, and every byte is in the journal.
  const lost = holesIn(numbers);
  const wrong = [
    ...(code === 0 ? [] : [`capture ended with ${code}`]),
    ...faultsOf(bus.bookFile),
    ...(lost > 1 ? [`${lost} frames lost`] : []),
  ];
  return { seen: lastLine(err), wrong, lostFrames: Math.max(0, lost - 1) };
}

async function movedAway(bus: WiredBus): Promise<Captured> {
  const running = capture(bus);
  await flowing(bus);
  mkdirSync(join(bus.folder, "elsewhere"));
  renameSync(bus.bookFile, join(bus.folder, "elsewhere", "day.gripbook"));
  const sent = bus.sent;
  await until(() => bus.sent > sent + 2000, "frames flow on");
  const at = bus.sent;
  await pause(1000);
  const { code, err } = await ended(running);
  const beside = join(bus.folder, "day-goes-on.gripbook");
  const lost = lostIn(beside, at);
  const wrong = [...(code === 0 ? [] : [`capture ended with ${code}`]), ...faultsOf(beside), ...(lost > 0 ? [`${lost} frames lost`] : [])];
  return { seen: err.split("\n").find((line) => /IS NO LONGER THERE/.test(line)) ?? "", wrong, lostFrames: lost };
}

async function second(bus: WiredBus): Promise<Captured> {
  const running = capture(bus);
  await flowing(bus);
  const opened = bus.opened;
  const { code: refused, err: said } = await capture(bus).ended;
  const sent = bus.sent;
  await until(() => bus.sent > sent + 300, "frames flow on");
  const { code } = await ended(running);
  const wrong = [
    ...(refused === 0 || refused === null ? ["the second was not refused"] : []),
    ...(said.trim().split("\n").length === 1 ? [] : ["the refusal is not one line"]),
    ...(bus.opened === opened ? [] : ["the second opened the adapter"]),
    ...(code === 0 ? [] : [`the first ended with ${code}`]),
    ...faultsOf(bus.bookFile),
  ];
  return { seen: lastLine(said), wrong, lostFrames: holesIn(storedNumbers(bus.bookFile).flat()) };
}

async function noFolder(bus: WiredBus): Promise<Captured> {
  const gone = join(bus.folder, "gone", "day.gripbook");
  rmSync(join(bus.folder, "gone"), { recursive: true, force: true });
  const { code, err } = await capture(bus, gone).ended;
  const wrong = [...(code === 0 || code === null ? ["it was not refused"] : []), ...(/\n\s+at /.test(err) ? ["a stack trace"] : [])];
  return { seen: lastLine(err), wrong, lostFrames: 0 };
}

export const captures: readonly Fault[] = [
  {
    name: "a device pulled and back under a new name",
    promise: "opened again by itself, the hole recorded, nothing lost before it",
    whole: 20,
    short: 2,
    alone: false,
    whyNot: whyNoPty,
    run: (times) => each(times, pulled),
  },
  {
    name: "garbage, NULs, half frames, endless lines",
    promise: "every whole frame is there; at most the frame that a half line touches is not",
    whole: 20,
    short: 2,
    alone: false,
    whyNot: whyNoPty,
    run: (times) => each(times, noise),
  },
  {
    name: "the book moved away",
    promise: "told within a second, the recording whole in a file beside",
    whole: 5,
    short: 1,
    alone: false,
    whyNot: whyNoPty,
    run: (times) => each(times, movedAway),
  },
  {
    name: "a second process on the same book",
    promise: "refused in one line before it opens a port; the first goes on",
    whole: 5,
    short: 1,
    alone: false,
    whyNot: whyNoPty,
    run: (times) => each(times, second),
  },
  {
    name: "a folder that is not there",
    promise: "refused in words",
    whole: 2,
    short: 1,
    alone: false,
    whyNot: whyNoPty,
    run: (times) => each(times, noFolder),
  },
];
