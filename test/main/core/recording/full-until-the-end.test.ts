/** A drive that stays full until the recording is closed: what the book could not take is kept elsewhere and taken in at the next opening, or its loss is told and recorded. The outside reference is what was driven. */
import { mkdirSync, mkdtempSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { drain } from "../../../../src/shared/kernel/drain.ts";
import { checkBook } from "../../../../src/main/core/deriving/check-book.ts";
import { gatesOf } from "../../../../src/main/core/judging/own-gates.ts";
import { openBook } from "../../../../src/main/open-book.ts";
import { driveCore, shortDrive } from "../../../support/driven-core.ts";
import { createSmallDrive, type SmallDrive, whyNoDrive } from "../../../support/small-drive.ts";

if (whyNoDrive !== null) console.warn(`skipped: a drive that is full until the end: ${whyNoDrive}`);

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

/** Drives with the drive full from half of it on, and gives what closing said and how many bytes were driven. */
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
    const home = join(folder, "home");
    mkdirSync(home);
    process.env.HOME = home;
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
    const gaps = book.gaps(1).filter(({ cause }) => cause === "the disk was full until the end");
    if (recorded === "the gap is recorded") {
      const lengthS = (Math.max(...gaps.map(({ toNs }) => toNs)) - Math.min(...gaps.map(({ fromNs }) => fromNs))) / 1e9;
      expect(lengthS).toBeCloseTo(Number(seconds), 1);
    } else expect(gaps).toEqual([]);
    expect(book.integrityFaults()).toEqual([]);
    book.close();
  },
);
