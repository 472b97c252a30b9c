/**
 * A full disk: what the book cannot store is kept elsewhere at once, and taken back as soon as there is room, or at the next opening. Where
 * no place takes it, its loss is reported and recorded. The outside reference is what was driven.
 */
import { spawn, spawnSync } from "node:child_process";
import { appendFileSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { afterEach, beforeEach, expect, test } from "vitest";
import { drain } from "../../../../src/shared/kernel/drain.ts";
import { checkBook } from "../../../../src/main/core/deriving/check-book.ts";
import { gatesOf } from "../../../../src/main/core/judging/own-gates.ts";
import { openBook } from "../../../../src/main/open-book.ts";
import { driveCore, shortDrive } from "../../../support/driven-core.ts";
import { createSmallDrive, type SmallDrive, whyNoDrive } from "../../../support/small-drive.ts";

if (whyNoDrive !== null) console.warn(`skipped: a drive that is full until the end: ${whyNoDrive}`);

/** docs/design.md: a killed process loses at most 250 ms of bytes. */
const MOST_LOST_MS = 250;

let folder = "";
let drive: SmallDrive | null = null;
const environment = { HOME: process.env.HOME, TMPDIR: process.env.TMPDIR };
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
});
afterEach(() => {
  drive?.dispose();
  drive = null;
  for (const [name, value] of Object.entries(environment)) {
    if (value === undefined) delete process.env[name];
    else process.env[name] = value;
  }
  rmSync(folder, { recursive: true, force: true });
});

/** A home folder of the test's own: the first place for what the book cannot take. */
function makeHome(): string {
  const home = join(folder, "home");
  mkdirSync(home);
  process.env.HOME = home;
  return home;
}

/** From a folder that is append-only no file can be removed, nor one read-only to its owner (chattr(1)). */
const pin = (path: string, how: "+a" | "-a") => spawnSync("chattr", [how, path]).status === 0;
function whyNotPinned(): string | null {
  const tried = mkdtempSync(join(tmpdir(), "gripbook-pin-"));
  const works = pin(tried, "+a");
  pin(tried, "-a");
  rmSync(tried, { recursive: true, force: true });
  return works ? null : "no folder can be made append-only here (chattr +a needs root, and a drive that knows it)";
}
const whyNoPin = whyNotPinned();
if (whyNoPin !== null) console.warn(`skipped: a kept file that cannot be removed: ${whyNoPin}`);

/** Drives with the disk full from the middle on; gives what closing said and how many bytes were driven. */
async function driveUntilFull(file: string, full: SmallDrive): Promise<{ said: string; bytes: number }> {
  const { packets } = shortDrive([{ kind: "stand", seconds: 2 }, { kind: "launch" }, { kind: "stand", seconds: 3 }]);
  const endUs = (packets.at(-1)?.arrivalUs ?? 0) + 100_000;
  const driven = driveCore({ file, packets: [...packets], alwaysArmed: true });
  driven.driveTo(endUs / 2);
  full.fill();
  driven.driveTo(endUs);
  const said = await driven.core.close().then(
    () => "",
    (error: Error) => error.message,
  );
  driven.book.close();
  return { said, bytes: packets.reduce((sum, packet) => sum + packet.bytes.length, 0) };
}

test.skipIf(whyNoDrive !== null)(
  "what a full drive kept out is kept elsewhere, told, and taken in when the book is opened again",
  async () => {
    const home = makeHome();
    drive = createSmallDrive(folder, 8);
    const file = join(drive.folder, "a.gripbook");
    const { said, bytes } = await driveUntilFull(file, drive);
    expect(said).toMatch(
      /^Book .*a\.gripbook: the disk is full.* It could not take the last \d+\.\d s \(\d+\.\d MB\) of recording 1: they are kept in .*home\/gripbook-held-\w+\.jsonl,/,
    );
    expect(readdirSync(home)).toHaveLength(1);
    drive.free();
    const { book, recovery } = openBook({ file, create: false });
    expect(drain(recovery.derive())).toEqual([
      expect.stringMatching(/^Recording 1 took in what had been kept aside in .*: it was closed and derived, 1 run found$/),
    ]);
    expect(readdirSync(home)).toEqual([]);
    expect([...book.packets(1)].reduce((sum, packet) => sum + packet.bytes.length, 0)).toBe(bytes);
    expect(book.recording(1).state).toBe("closed");
    expect(checkBook(book, gatesOf(book)).faults).toEqual([]);
    book.close();
  },
);

test.skipIf(whyNoDrive !== null)(
  "where no other place takes it, how much is lost is told, and the gap stands in the book or is said not to",
  async () => {
    drive = createSmallDrive(folder, 8);
    process.env.HOME = drive.folder;
    process.env.TMPDIR = drive.folder;
    const file = join(drive.folder, "a.gripbook");
    const { said } = await driveUntilFull(file, drive);
    const [, seconds, recorded] =
      /the last (\d+\.\d) s \(\d+\.\d MB\) of recording 1 ARE LOST, (the gap is recorded|not even the gap could be recorded)/.exec(said) ??
      [];
    expect(recorded, said).toBeDefined();
    drive.free();
    const { book } = openBook({ file, create: false });
    const gaps = book.gaps(1).filter(({ cause }) => /^the disk was full until the end: \d+\.\d MB lost$/.test(cause));
    if (recorded === "the gap is recorded") {
      const lengthS = (Math.max(...gaps.map(({ toNs }) => toNs)) - Math.min(...gaps.map(({ fromNs }) => fromNs))) / 1e9;
      expect(lengthS).toBeCloseTo(Number(seconds), 1);
    } else expect(gaps).toEqual([]);
    expect(book.integrityFaults()).toEqual([]);
    book.close();
  },
);

test.skipIf(whyNoDrive !== null)(
  "what is kept elsewhere while the drive is full goes back into the book as soon as there is room",
  async () => {
    const home = makeHome();
    drive = createSmallDrive(folder, 8);
    const { packets } = shortDrive([{ kind: "stand", seconds: 2 }, { kind: "launch" }, { kind: "stand", seconds: 3 }]);
    const endUs = (packets.at(-1)?.arrivalUs ?? 0) + 100_000;
    const driven = driveCore({ file: join(drive.folder, "a.gripbook"), packets: [...packets], alwaysArmed: true });
    driven.driveTo(endUs / 3);
    drive.fill();
    driven.driveTo((endUs * 2) / 3);
    const [name] = readdirSync(home);
    const notice = () => driven.events.filter((event) => event.event === "notice" && event.key === "book").at(-1);
    expect(name, "a file in the home folder, while the drive is full").toMatch(/^gripbook-held-\w+\.jsonl$/);
    expect(statSync(join(home, name as string)).mode & 0o777).toBe(0o600);
    expect(notice()).toMatchObject({ text: expect.stringMatching(/the disk is full.* Recording goes on in .*gripbook-held-\w+\.jsonl/) });
    drive.free();
    driven.driveTo(endUs + 3e6);
    expect(readdirSync(home)).toEqual([]);
    expect(notice()).toMatchObject({ text: null });
    await driven.core.close();
    const { book } = driven;
    expect([...book.packets(1)].map(({ bytes }) => Buffer.from(bytes).toString("latin1")).join("")).toBe(
      packets.map(({ bytes }) => Buffer.from(bytes).toString("latin1")).join(""),
    );
    expect(book.gaps(1)).toEqual([]);
    expect(checkBook(book, gatesOf(book)).faults).toEqual([]);
    book.close();
  },
);

/** A computer whose only drive is full: no other place takes anything. Room is kept a step a second, so it is driven for a while before. */
async function driveOnOnlyDrive(file: string, full: SmallDrive, onGiven: (part: string) => void): Promise<{ said: string; bytes: number }> {
  process.env.HOME = full.folder;
  process.env.TMPDIR = full.folder;
  const { packets } = shortDrive([{ kind: "gentle", seconds: 8 }, { kind: "launch" }, { kind: "stand", seconds: 3 }]);
  const endUs = (packets.at(-1)?.arrivalUs ?? 0) + 100_000;
  const driven = driveCore({ file, packets: [...packets], alwaysArmed: true });
  driven.driveTo(6e6);
  expect(statSync(`${file}-room`).size).toBeGreaterThan(2 ** 21);
  full.fill();
  driven.driveTo(endUs);
  expect(driven.events.filter((event) => event.event === "notice" && event.key === "book").at(-1)).toMatchObject({
    text: expect.stringMatching(/the disk is full.* are held in memory/),
  });
  const { giveRoom } = driven.book;
  driven.book.giveRoom = (part) => {
    giveRoom(part);
    onGiven(part);
  };
  const said = await driven.core.close().then(
    () => "",
    (error: Error) => error.message,
  );
  driven.book.close();
  return { said, bytes: packets.reduce((sum, packet) => sum + packet.bytes.length, 0) };
}

test.skipIf(whyNoDrive !== null)("where no other place takes it, the room that was kept free does", async () => {
  drive = createSmallDrive(folder, 100);
  const file = join(drive.folder, "a.gripbook");
  const { said, bytes } = await driveOnOnlyDrive(file, drive, () => undefined);
  expect(said).toBe("");
  drive.free();
  const { book } = openBook({ file, create: false });
  expect([...book.packets(1)].reduce((sum, packet) => sum + packet.bytes.length, 0)).toBe(bytes);
  expect(book.gaps(1)).toEqual([]);
  expect(readdirSync(drive.folder).filter((name) => name.endsWith("-room"))).toEqual([]);
  book.close();
});

test.skipIf(whyNoDrive !== null)(
  "where that is not enough either, the gap is in the book with its length and how much was lost",
  async () => {
    drive = createSmallDrive(folder, 100);
    const file = join(drive.folder, "a.gripbook");
    const full = drive;
    // Another program takes most of the room at once.
    const { said } = await driveOnOnlyDrive(file, full, (part) => {
      if (part === "most") full.fill();
    });
    const [, seconds] = /the last (\d+\.\d) s \(\d+\.\d MB\) of recording 1 ARE LOST, the gap is recorded/.exec(said) ?? [];
    expect(seconds, said).toBeDefined();
    drive.free();
    const { book } = openBook({ file, create: false });
    const gaps = book.gaps(1);
    expect(gaps.map(({ stream }) => stream).sort()).toEqual(["can", "gnss"]);
    for (const { cause } of gaps) expect(cause).toMatch(/^the disk was full until the end: \d+\.\d MB lost$/);
    const lengthS = (Math.max(...gaps.map(({ toNs }) => toNs)) - Math.min(...gaps.map(({ fromNs }) => fromNs))) / 1e9;
    expect(lengthS).toBeCloseTo(Number(seconds), 1);
    const holes = checkBook(book, gatesOf(book)).holes.filter((line) => line.includes("Hole"));
    expect(holes).toHaveLength(2);
    for (const line of holes)
      expect(line).toMatch(/^Recording 1: Hole, (can|gnss): \d+\.\d to \d+\.\d s: the disk was full until the end: /);
    book.close();
  },
);

/** What the process in journal-victim.ts had been handed when it was killed, a second and more after its drive was full. */
async function killedOnFullDrive(file: string, full: SmallDrive): Promise<number> {
  const child = spawn(process.execPath, [fileURLToPath(new URL("../../../support/journal-victim.ts", import.meta.url)), file], {
    stdio: ["ignore", "pipe", "pipe"],
  });
  const closed = new Promise((done) => child.once("close", done));
  let [out, err] = ["", ""];
  child.stdout.setEncoding("latin1").on("data", (text: string) => {
    out += text;
  });
  child.stderr.setEncoding("utf8").on("data", (text: string) => {
    err += text;
  });
  const sent = () => Number(/\d+ (\d+)\n[^\n]*$/.exec(out)?.[1] ?? 0);
  try {
    await expect.poll(sent, { timeout: 120_000 }).toBeGreaterThan(300);
    full.fill();
    await expect.poll(() => err, { timeout: 120_000 }).toContain("the disk is full");
    const told = sent();
    await expect.poll(sent, { timeout: 120_000 }).toBeGreaterThan(told + 1500);
  } finally {
    child.kill("SIGKILL");
    await closed;
  }
  return sent();
}

test.skipIf(whyNoDrive !== null)(
  "a process killed while its drive is full has lost no more than on a drive with room, also with a torn last line",
  async () => {
    const home = makeHome();
    drive = createSmallDrive(folder, 8);
    const file = join(drive.folder, "a.gripbook");
    const sent = await killedOnFullDrive(file, drive);
    const [name] = readdirSync(home);
    appendFileSync(join(home, name as string), '{"fromNs":12');
    drive.free();
    const { book } = openBook({ file, create: false });
    const stored = [...book.packets(1)].map(({ arrivalNs }) => arrivalNs / 1e6);
    expect(stored).toEqual(Array.from({ length: stored.length }, (_, ms) => ms));
    expect(sent - stored.length).toBeLessThanOrEqual(MOST_LOST_MS);
    expect(book.journalFaults(1)).toEqual([]);
    expect(readdirSync(home)).toEqual([]);
    book.close();
  },
);

test.skipIf(whyNoDrive !== null)(
  "a damaged line of such a file costs that line alone, and its gap is in the book with its length",
  async () => {
    const home = makeHome();
    drive = createSmallDrive(folder, 8);
    const file = join(drive.folder, "a.gripbook");
    await driveUntilFull(file, drive);
    const [name] = readdirSync(home);
    const lines = readFileSync(join(home, name as string), "utf8").split("\n");
    lines[3] = `${lines[3]?.slice(0, 200)}?${lines[3]?.slice(201)}`;
    writeFileSync(join(home, name as string), lines.join("\n"));
    drive.free();
    const { book, recovery } = openBook({ file, create: false });
    expect(recovery.waiting.join(" ")).toMatch(/gripbook-held-\S+, which is damaged: 1 part of it is lost/);
    const gaps = book.gaps(1).filter(({ cause }) => /damaged/.test(cause));
    expect(gaps.map(({ stream }) => stream).sort()).toEqual(["can", "gnss"]);
    for (const { fromNs, toNs } of gaps) {
      expect(toNs - fromNs).toBeGreaterThan(0);
      expect(toNs - fromNs).toBeLessThan(0.5e9);
    }
    expect(book.journalFaults(1)).toEqual([]);
    book.close();
  },
);

test.skipIf(whyNoDrive !== null || whyNoPin !== null)(
  "a kept file that cannot be removed afterwards does no harm: all is in the book once, while recording and at the next opening",
  async () => {
    const home = makeHome();
    drive = createSmallDrive(folder, 8);
    const file = join(drive.folder, "a.gripbook");
    const { packets } = shortDrive([{ kind: "stand", seconds: 2 }, { kind: "launch" }, { kind: "stand", seconds: 3 }]);
    const endUs = (packets.at(-1)?.arrivalUs ?? 0) + 100_000;
    const driven = driveCore({ file, packets: [...packets], alwaysArmed: true });
    try {
      driven.driveTo(endUs / 3);
      drive.fill();
      pin(home, "+a");
      driven.driveTo((endUs * 2) / 3);
      drive.free();
      driven.driveTo(endUs + 3e6);
      await driven.core.close();
      expect(readdirSync(home)).toHaveLength(1);
      const kept = () => [...driven.book.packets(1)].map(({ bytes }) => Buffer.from(bytes).toString("latin1")).join("");
      expect(kept()).toBe(packets.map(({ bytes }) => Buffer.from(bytes).toString("latin1")).join(""));
      expect(driven.events.filter((event) => event.event === "notice" && event.key === "book").at(-1)).toMatchObject({ text: null });
      driven.book.close();
    } finally {
      pin(home, "-a");
    }
  },
);

test.skipIf(whyNoDrive !== null || whyNoPin !== null)(
  "at the next opening a kept file that cannot be removed is taken in and named",
  async () => {
    const home = makeHome();
    drive = createSmallDrive(folder, 8);
    const file = join(drive.folder, "a.gripbook");
    const { bytes } = await driveUntilFull(file, drive);
    drive.free();
    try {
      pin(home, "+a");
      const { book, recovery } = openBook({ file, create: false });
      expect(drain(recovery.derive())).toEqual([
        expect.stringMatching(
          /took in what had been kept aside in .* cannot be removed: remove it yourself\): it was closed and derived, 1 run found$/,
        ),
      ]);
      expect([...book.packets(1)].reduce((sum, packet) => sum + packet.bytes.length, 0)).toBe(bytes);
      book.close();
    } finally {
      pin(home, "-a");
    }
  },
);
