/** The core without a transport, on a clock that the test moves: a recording's life from the first byte to final runs. Truth: the simulator's own. */
import { ask } from "../../support/ask.ts";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { openSqliteBook } from "../../../src/main/adapters/sqlite/sqlite-book.ts";
import { checkBook } from "../../../src/main/core/deriving/check-book.ts";
import { drain } from "../../../src/shared/kernel/drain.ts";
import { gatesOf } from "../../../src/main/core/judging/own-gates.ts";
import { settle } from "../../../src/main/core/deriving/settle.ts";
import { recover, recovery } from "../../../src/main/core/deriving/recover.ts";
import type { LiveEvent, NoticeEvent, RunStoredEvent } from "../../../src/shared/contract/contract.ts";
import { decodeColumns, encodeColumns } from "../../../src/shared/contract/columns.ts";
import { checkRequest } from "../../../src/shared/contract/contract.ts";
import { type DrivenCore, driveCore, shortDrive } from "../../support/driven-core.ts";

const LAUNCH = { kind: "launch", standS: 3, toKmh: 105 };
const drive = shortDrive([{ kind: "stand", seconds: 2 }, LAUNCH, { kind: "stand", seconds: 5 }]);
const endUs = (drive.packets.at(-1)?.arrivalUs ?? 0) + 1;
const movementUs = (drive.truth.runs[0]?.movementHostS ?? Number.NaN) * 1e6;

let folder = "";
const open: DrivenCore[] = [];
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
});
afterEach(() => {
  for (const driven of open.splice(0)) driven.book.close();
  rmSync(folder, { recursive: true, force: true });
});

function start(options: Partial<Parameters<typeof driveCore>[0]> = {}): DrivenCore {
  const driven = driveCore({ file: join(folder, "a.gripbook"), packets: drive.packets, ...options });
  open.push(driven);
  return driven;
}

const lives = ({ events }: DrivenCore) => events.filter((event): event is LiveEvent => event.event === "live");
const stored = ({ events }: DrivenCore) =>
  events.filter((event): event is RunStoredEvent => event.event === "runStored").map((event) => event.run);
const notices = ({ events }: DrivenCore) => events.filter((event): event is NoticeEvent => event.event === "notice");

test("what is noted while driving stands with its run; where nothing is recorded it is refused, and nobody is told it was kept", async () => {
  const driven = start({ alwaysArmed: true });
  await expect(ask(driven.core, "drive.mark", { note: "too early" })).rejects.toThrow(/Nothing is recorded yet/);
  driven.driveTo(movementUs + 2e6);
  await ask(driven.core, "drive.mark", { note: "hop" });
  driven.driveTo(endUs);
  await driven.core.close();
  const { moments } = await ask(driven.core, "run.show", { run: 1 });
  expect(moments.map(({ text }) => text)).toEqual(["hop"]);
  expect(Math.abs((moments[0]?.atS as number) - 2)).toBeLessThan(0.2);
});

test("while nothing arrives screens are told so at a quarter of the pace; the first byte after that is told at the next beat", () => {
  const driven = start();
  driven.driveTo(1e6);
  const busy = lives(driven).length;
  driven.driveTo(2e6, ["gnss", "can"]);
  const quiet = lives(driven).length - busy;
  // At each second beat of 5 ms, and at each ninth.
  expect(busy).toBeGreaterThanOrEqual(99);
  expect(quiet).toBeGreaterThanOrEqual(20);
  expect(quiet).toBeLessThanOrEqual(24);
  const before = lives(driven).length;
  driven.driveTo(2.02e6);
  expect(lives(driven).length).toBeGreaterThan(before);
});

test("an armed launch is seen, stored provisionally, and made final under the same id when the recording closes", async () => {
  const driven = start({ alwaysArmed: true, label: "slip target 8 %" });
  driven.driveTo(endUs);
  const all = lives(driven);
  expect([...new Set(all.map((live) => live.state))]).toEqual(expect.arrayContaining(["armed", "standing", "launched", "done"]));
  // The contract's rates: about 30 a second, 60 while launched.
  const perSecond = (from: number) => all.filter((live) => live.tS >= from && live.tS < from + 1).length;
  expect(perSecond(1)).toBeGreaterThanOrEqual(25);
  expect(perSecond(Math.ceil(movementUs / 1e6) + 1.5)).toBeGreaterThanOrEqual(45);
  expect(stored(driven)[0]).toMatchObject({ id: 1, final: false, label: "slip target 8 %" });
  await driven.core.close();
  const rows = stored(driven);
  expect(rows.map((row) => [row.id, row.final])).toEqual([
    [1, false],
    [1, true],
  ]);
  const trueS = drive.truth.runs[0]?.gates.find((gate) => gate.gate === "0-60 mph" && gate.start === "movement")?.seconds as number;
  expect(Math.abs((rows[1]?.seconds as number) - trueS)).toBeLessThan(0.05);
  expect(driven.book.recordings()).toMatchObject([{ state: "closed", derived: true, origin: "live" }]);
  expect(checkBook(driven.book, gatesOf(driven.book))).toMatchObject({ faults: [], runs: 1 });

  // Every edit answers with the request that takes it back.
  const { core } = driven;
  const shown = async () => JSON.stringify(await ask(core, "run.show", { run: 1 }));
  for (const [name, argument] of [
    ["runs.edit", { edits: [{ run: 1, label: "other" }] }],
    ["runs.edit", { edits: [{ run: 1, review: { use: false, note: "gust" } }] }],
    ["runs.edit", { edits: [{ run: 1, conditions: { surface: "wet" } }] }],
    [
      "runs.edit",
      {
        edits: [
          { run: 1, label: "other" },
          { run: 1, label: "third", conditions: { surface: "dry" } },
        ],
      },
    ],
  ] as const) {
    const before = await shown();
    const { undo } = await ask(core, name, argument as never);
    expect(await shown()).not.toBe(before);
    await ask(core, undo.name as typeof name, undo.argument as never);
    expect(await shown()).toBe(before);
  }
  const columns = await ask(core, "run.columns", { run: 1 });
  expect(decodeColumns(encodeColumns(columns)).names.slice(0, 3)).toEqual(["timeS", "groundSpeedKmh", "wheelSpeedKmh"]);
});

test("silent sources: every live value is unknown soon after, never the last one", () => {
  const driven = start();
  driven.driveTo(movementUs - 1e6);
  expect(lives(driven).at(-1)?.torqueDeliveredNm).not.toBeNull();
  driven.driveTo(movementUs + 2e6, ["gnss", "can"]);
  expect(lives(driven).at(-1)).toMatchObject({ groundSpeedMps: null, slipSpeedMps: null, torqueDeliveredNm: null, pedalPercent: null });
});

test("bad requests are refused in one line", async () => {
  const { core } = start();
  await expect(ask(core, "run.show", { run: 9 })).rejects.toThrow(/^Run 9 is not in this book/);
  expect(() => checkRequest("run.erase", { run: 1 })).toThrow(/^Unknown request "run\.erase"/);
  expect(() => checkRequest("runs.edit", { edits: [{ run: 1, text: "x" }] })).toThrow(/^Request runs\.edit: edits\.0\.text: /);
});

test("a launch that nobody armed for is kept and set aside with the reason; closing fills no verdict unasked", async () => {
  const driven = start();
  driven.driveTo(endUs);
  expect(stored(driven)).toEqual([]);
  await driven.core.close();
  expect(driven.book.runs()).toMatchObject([{ final: true, use: false, note: expect.stringMatching(/^Driven without being armed/) }]);
  // Derived again it keeps what a person said about it.
  driven.book.setReview(1, { use: true, note: "meant" }, 0);
  settle(driven.book, 1, { gates: gatesOf(driven.book), recalibrate: false });
  expect(driven.book.runs()).toMatchObject([{ id: 1, use: true, note: "meant" }]);
});

test("abort in a launch ends it, keeps it and flags it; nothing arms again by itself", async () => {
  const driven = start();
  driven.driveTo(500_000);
  await ask(driven.core, "drive.arm", { label: "first try" });
  driven.driveTo(movementUs + 2e6);
  expect(lives(driven).at(-1)?.state).toBe("launched");
  await ask(driven.core, "drive.abort", {});
  driven.driveTo(endUs);
  expect(lives(driven).at(-1)?.state).not.toMatch(/armed|standing|launched/);
  await driven.core.close();
  const [run] = driven.book.runs();
  expect(run?.label).toBe("first try");
  expect(run?.figures.flags.map((flag) => flag.flag)).toContain("aborted");
});

test("a process that dies in a run leaves it in the book: closed and flagged as interrupted at the next start", () => {
  const dying = start({ alwaysArmed: true });
  dying.driveTo(movementUs + 4e6);
  // The process has died: only its lock is released, as the system does it.
  open.splice(0);
  dying.book.close();
  const book = openSqliteBook({ file: join(folder, "a.gripbook"), create: false });
  expect(recover(book, gatesOf(book))).toEqual(["Recording 1 had been interrupted: it was closed and derived, 1 run found"]);
  expect(book.recordings()).toMatchObject([{ state: "interrupted", derived: true }]);
  const [run] = book.runs();
  expect(run?.final).toBe(true);
  expect(run?.figures.flags.map((flag) => flag.flag)).toContain("interrupted");
  expect(recover(book, gatesOf(book))).toEqual([]);
  expect(checkBook(book, gatesOf(book)).faults).toEqual([]);
  book.close();
});

test("reading a book that a process died in waits for no deriving: it is closed at once, and its runs are derived in steps that tell their share", () => {
  const dying = start({ alwaysArmed: true });
  dying.driveTo(movementUs + 4e6);
  open.splice(0);
  dying.book.close();
  const book = openSqliteBook({ file: join(folder, "a.gripbook"), create: false });
  const { told, waiting, derive } = recovery(book, gatesOf(book));
  expect(told).toEqual([]);
  expect(waiting).toEqual([
    expect.stringMatching(/^Recording 1 had been interrupted: it was closed; its runs are final once `.*rederive --book /),
  ]);
  expect(book.recordings()).toMatchObject([{ state: "interrupted", derived: false }]);
  const shares: number[] = [];
  expect(drain(derive(), (share) => shares.push(share))).toEqual([
    "Recording 1 had been interrupted: it was closed and derived, 1 run found",
  ]);
  expect(shares.length).toBeGreaterThan(2);
  expect(shares.every((share, i) => share <= 1 && (i === 0 || share >= (shares[i - 1] as number)))).toBe(true);
  expect(recovery(book, gatesOf(book)).waiting).toEqual([]);
  book.close();
});

test("a book that another process records into is not recovered, and not recorded into", () => {
  const first = start({ alwaysArmed: true });
  first.driveTo(1_000_000);
  const second = start({ alwaysArmed: true });
  expect(recover(second.book, gatesOf(second.book))).toEqual([]);
  second.driveTo(500_000);
  expect(notices(second).find((notice) => notice.key === "book")?.text).toMatch(
    /another Gripbook records into it; close that one or name another book/,
  );
  expect(second.book.recordings()).toHaveLength(1);
});

test("a sleep closes the recording, says so, and the next byte begins another", async () => {
  const driven = start({ alwaysArmed: true });
  driven.driveTo(1_500_000);
  driven.clock.sleptS = 600;
  driven.driveTo(3_500_000);
  expect(notices(driven).find((notice) => notice.key === "sleep")?.text).toMatch(/^The computer slept: the recording was closed there/);
  await driven.core.close();
  expect(driven.book.recordings().map((recording) => recording.state)).toEqual(["closed", "closed"]);
});

test("what a sleep closed is derived while bytes go on coming, and closing waits for it", async () => {
  const driven = start({ alwaysArmed: true });
  driven.driveTo(endUs / 2);
  driven.clock.sleptS = 600;
  driven.driveTo(endUs / 2 + 1e6);
  driven.clock.sleptS = 1200;
  driven.driveTo(endUs);
  // All of this is one turn: nothing was derived in it, and the third recording has what arrived.
  expect(driven.book.recordings().map(({ state, derived }) => `${state} ${derived}`)).toEqual([
    "closed false",
    "closed false",
    "open false",
  ]);
  await driven.core.close();
  expect(driven.book.recordings().map(({ state, derived }) => `${state} ${derived}`)).toEqual(Array(3).fill("closed true"));
  expect(checkBook(driven.book, gatesOf(driven.book)).faults).toEqual([]);
});

test("an adapter unplugged in a run: the receiver goes on, the hole stands in the book with its cause, the run is kept", async () => {
  const driven = start({ alwaysArmed: true });
  driven.driveTo(movementUs + 1e6);
  const fromNs = driven.clock.monotonicNs();
  driven.listeners.can.onGap("unplugged", fromNs, null);
  driven.listeners.can.onReport({
    state: "absent",
    words: "CAN adapter: /dev/x is gone (unplugged): plug it in again, it is opened by itself",
  });
  driven.driveTo(movementUs + 2e6, ["can"]);
  expect(lives(driven).at(-1)).toMatchObject({ can: { state: "absent" }, gnss: { state: "fresh" }, torqueDeliveredNm: null });
  expect(notices(driven).at(-1)).toMatchObject({ key: "can", text: expect.stringMatching(/plug it in again/) });
  driven.listeners.can.onGap("unplugged", fromNs, driven.clock.monotonicNs());
  driven.listeners.can.onReport({ state: "fresh", words: "" });
  driven.driveTo(endUs);
  await driven.core.close();
  const [gap] = driven.book.gaps(1);
  expect(gap).toMatchObject({ stream: "can", cause: "unplugged" });
  expect(((gap?.toNs ?? 0) - (gap?.fromNs ?? 0)) / 1e9).toBeCloseTo(1, 1);
  expect(driven.book.runs()).toHaveLength(1);
  expect(checkBook(driven.book, gatesOf(driven.book)).faults).toEqual([]);
});
