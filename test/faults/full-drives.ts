/** A drive that is full while a capture runs: until there is room again, until the end, and when the capture is killed. */
import { readdirSync } from "node:fs";
import { join } from "node:path";
import { openBook } from "../../src/main/open-book.ts";
import { createRandom } from "../../src/shared/simulation/random.ts";
import { whyNoPty } from "../support/pty-device.ts";
import { type Running, startGripbook } from "../support/run-gripbook.ts";
import { createSmallDrive, type SmallDrive, whyNoDrive } from "../support/small-drive.ts";
import { type Captured, each, flowing, lostIn } from "./captures.ts";
import { type Fault, pause, until } from "./fault.ts";
import { faultsOf, firstUnread, holesIn, storedNumbers, type WiredBus } from "./wired-bus.ts";

const MOST_LOST_MS = 250;

interface Full extends Running {
  readonly drive: SmallDrive;
  readonly book: string;
  /** What it has said so far. */
  err(): string;
}

/** A capture on a small drive that is full now, as it has said; the test's folder is its home. */
async function onFullDrive(bus: WiredBus, once: (full: Full) => Promise<Captured>): Promise<Captured> {
  const drive = createSmallDrive(bus.folder, 24);
  const { HOME } = process.env;
  process.env.HOME = bus.folder;
  try {
    const book = join(drive.folder, "day.gripbook");
    const running = startGripbook("capture", "--setup", bus.setUpFile, "--book", book);
    let err = "";
    running.child.stderr?.on("data", (text: string) => {
      err += text;
    });
    await flowing(bus);
    drive.fill();
    await until(() => /the disk is full|the drive failed/.test(err), "the full drive is told");
    return await once({ ...running, drive, book, err: () => err });
  } finally {
    if (HOME === undefined) delete process.env.HOME;
    else process.env.HOME = HOME;
    drive.dispose();
  }
}

const lineWith = (text: string, words: RegExp) => text.split("\n").find((line) => words.test(line)) ?? "";
const isHeld = (name: string) => name.startsWith("gripbook-held-");
const leftIn = (folder: string) => (readdirSync(folder).some(isHeld) ? ["a file that held a part is still there"] : []);

async function flowOn(bus: WiredBus, frames: number): Promise<void> {
  const { sent } = bus;
  await until(() => bus.sent > sent + frames, "frames flow on");
}

const fullAndBack = (bus: WiredBus) =>
  onFullDrive(bus, async ({ child, ended, drive, book, err }) => {
    await pause(2000);
    drive.free();
    await flowOn(bus, 2500);
    const at = bus.sent;
    await pause(1000);
    child.kill("SIGINT");
    const { code } = await ended;
    const lost = lostIn(book, at);
    const wrong = [
      ...(code === 0 ? [] : [`capture ended with ${code}`]),
      ...faultsOf(book),
      ...leftIn(bus.folder),
      ...(lost > 0 ? [`${lost} frames lost`] : []),
    ];
    return { seen: lineWith(err(), /full/), wrong, lostFrames: lost };
  });

/** Opens the book as the next start does, once there is room. */
function openAgain(drive: SmallDrive, file: string): void {
  drive.free();
  openBook({ file, create: false }).book.close();
}

/** As long as a launch takes, in the whole run. */
const fullToTheEnd = (timed: boolean) => (bus: WiredBus) =>
  onFullDrive(bus, async ({ child, ended, drive, book, err }) => {
    await flowOn(bus, timed ? 15_000 : 3000);
    const at = bus.sent;
    await pause(1000);
    child.kill("SIGINT");
    const { code } = await ended;
    openAgain(drive, book);
    const lost = lostIn(book, at);
    const wrong = [
      ...(code === 1 ? [] : [`capture ended with ${code}, though its book lacks something`]),
      ...faultsOf(book),
      ...leftIn(bus.folder),
      ...(lost > 0 ? [`${lost} frames lost`] : []),
    ];
    return { seen: lineWith(err(), /could not take/), wrong, lostFrames: lost };
  });

const killedWhileFull = (timed: boolean) => (bus: WiredBus, i: number) =>
  onFullDrive(bus, async ({ child, ended, drive, book, err }) => {
    await flowOn(bus, createRandom(11, `kill ${i}`).between(300, 2500));
    const { sent } = bus;
    child.kill("SIGKILL");
    const atMs = performance.now();
    await ended;
    const unread = await firstUnread(bus, sent);
    openAgain(drive, book);
    const numbers = storedNumbers(book).flat();
    const first = (numbers.findLast((number) => number < sent) ?? -1) + 1;
    const lostMs = first < sent ? atMs - bus.writtenMs(first) : 0;
    const readMs = first < unread ? bus.writtenMs(unread - 1) - bus.writtenMs(first) : 0;
    const wrong = [
      ...faultsOf(book),
      ...leftIn(bus.folder),
      ...(holesIn(numbers) > 0 ? ["the recording has a hole"] : []),
      ...(timed && lostMs > MOST_LOST_MS ? [`${Math.round(lostMs)} ms lost, ${Math.round(readMs)} ms of it had been read`] : []),
    ];
    return { seen: lineWith(err(), /goes on in/), wrong, lostFrames: Math.round(lostMs) };
  });

export const fullDrives: readonly Fault[] = [
  {
    name: "the drive full, and free again",
    promise: "nothing lost, told at once",
    whole: 5,
    short: 1,
    alone: false,
    whyNot: whyNoPty ?? whyNoDrive,
    run: (times) => each(times, fullAndBack),
  },
  {
    name: "the drive full until the end",
    promise: "nothing lost: kept in a file elsewhere, told, and taken in at the next opening",
    whole: 5,
    short: 1,
    alone: false,
    whyNot: whyNoPty ?? whyNoDrive,
    run: (times, timed) => each(times, fullToTheEnd(timed)),
  },
  {
    name: "killed while the drive is full",
    promise: "at most 250 ms of bytes lost, the rest taken in at the next opening",
    whole: 20,
    short: 1,
    alone: true,
    whyNot: whyNoPty ?? whyNoDrive,
    run: (times, timed) => each(times, killedWhileFull(timed)),
  },
];
