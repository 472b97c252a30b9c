/** The measuring process as a host starts it: a first simulated day, live events, answers, and a recording that is closed and derived at the end. */
import { type ChildProcess, fork } from "node:child_process";
import { brotliDecompressSync } from "node:zlib";
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { afterEach, beforeEach, expect, test } from "vitest";
import { openSqliteBook } from "../../../src/main/adapters/sqlite/sqlite-book.ts";
import type { FromCore } from "../../../src/main/hosts/core-messages.ts";

const ENTRY = fileURLToPath(new URL("../../../src/main/ingest/ingest-process.ts", import.meta.url));

/** The day's twenty minutes are computed as quickly as the machine can. */
const PATIENCE_MS = 100_000;

let folder = "";
let child: ChildProcess | null = null;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
});
afterEach(() => {
  child?.kill("SIGKILL");
  rmSync(folder, { recursive: true, force: true });
});

function start(...given: string[]) {
  const messages: FromCore[] = [];
  let said = "";
  const started = fork(ENTRY, given, { serialization: "advanced", stdio: ["ignore", "ignore", "pipe", "ipc"] });
  child = started;
  started.stderr?.setEncoding("utf8").on("data", (text: string) => {
    said += text;
  });
  started.on("message", (message) => messages.push(message as FromCore));
  const ended = new Promise<{ code: number | null; said: string }>((done) => started.once("close", (code) => done({ code, said })));
  return { messages, ended, send: (message: object) => started.send(message) };
}

test("a book opened with its own set-up, which is not there, is shown as it is: nothing is recorded into it, and no car is remembered", async () => {
  const file = join(folder, "may.gripbook");
  writeFileSync(file, brotliDecompressSync(readFileSync("test/fixtures/books/version-5.gripbook.br")));
  const recordings = () => openSqliteBook({ file, create: false }).recordings();
  const before = recordings();
  const note = join(folder, "last-car.json");
  const { messages, ended, send } = start("--book", file, "--own", "--remember", note);
  await expect.poll(() => messages.some(({ kind }) => kind === "ready")).toBe(true);
  send({ kind: "request", id: 1, name: "book.open", argument: {} });
  await expect
    .poll(() => messages.find((message) => message.kind === "answer"))
    .toMatchObject({ ok: true, answer: expect.objectContaining({ simulated: false }) });
  send({ kind: "close" });
  expect((await ended).code).toBe(0);
  expect(existsSync(note)).toBe(false);
  expect(before.length).toBeGreaterThan(0);
  expect(recordings()).toEqual(before);
});

test(
  "a new simulated book gets its day of twelve runs, then the car drives on, and closing leaves final runs only",
  async () => {
    const file = join(folder, "a.gripbook");
    const { messages, ended, send } = start("--book", file, "--simulated");
    const events = () => messages.flatMap((message) => (message.kind === "event" ? [message.event] : []));
    await expect
      .poll(() => events().some((event) => event.event === "live" && event.can.state === "fresh"), { timeout: PATIENCE_MS })
      .toBe(true);
    expect(messages.filter((message) => message.kind === "ready")).toHaveLength(1);
    expect(events().filter((event) => event.event === "runStored")).toHaveLength(12);
    const steps = events().flatMap((event) => (event.event === "work" && event.work === "first-day" ? [event] : []));
    expect(steps[0]).toMatchObject({ words: expect.stringMatching(/^Driving a simulated day/), cancellable: true });
    // The rod grows up to the end, by steps that can be seen.
    const shares = steps.flatMap(({ share }) => (share === null ? [] : [share]));
    expect(shares).toEqual([...shares].sort((a, b) => a - b));
    expect(shares.length).toBeGreaterThan(20);
    expect(shares.at(-1)).toBeGreaterThan(0.95);
    expect(steps.at(-1)).toMatchObject({ words: null });
    send({ kind: "request", id: 7, name: "book.open", argument: {} });
    send({ kind: "request", id: 8, name: "run.show", argument: { run: 999 } });
    await expect.poll(() => messages.filter((message) => message.kind === "answer").length).toBe(2);
    expect(messages.find((message) => message.kind === "answer" && message.id === 7)).toMatchObject({
      ok: true,
      answer: { car: "Odrel", simulated: true },
    });
    expect(messages.find((message) => message.kind === "answer" && message.id === 8)).toMatchObject({
      ok: false,
      error: expect.stringMatching(/^Run 999 is not in this book/),
    });
    send({ kind: "close" });
    expect(await ended).toEqual({ code: 0, said: "" });
    const book = openSqliteBook({ file, create: false });
    expect(book.recordings().map(({ state, derived }) => [state, derived])).toEqual([
      ["closed", true],
      ["closed", true],
    ]);
    expect(book.runs().every((run) => run.final)).toBe(true);
    book.close();
  },
  2 * PATIENCE_MS,
);

test(
  "closed in the middle of its first day, the next start drives the rest of it",
  async () => {
    const file = join(folder, "a.gripbook");
    const first = start("--book", file, "--simulated");
    const eventsOf = ({ messages }: typeof first) => messages.flatMap((message) => (message.kind === "event" ? [message.event] : []));
    const isPast = (least: number) =>
      eventsOf(first).some((event) => event.event === "work" && event.work === "first-day" && event.share !== null && event.share > least);
    await expect.poll(() => isPast(0.25), { timeout: PATIENCE_MS }).toBe(true);
    first.send({ kind: "close" });
    expect(await first.ended).toEqual({ code: 0, said: "" });
    const second = start("--book", file, "--simulated");
    await expect.poll(() => eventsOf(second).some((event) => event.event === "live"), { timeout: PATIENCE_MS }).toBe(true);
    expect(eventsOf(second).filter((event) => event.event === "runStored")).toHaveLength(12);
    second.send({ kind: "close" });
    expect(await second.ended).toEqual({ code: 0, said: "" });
    const book = openSqliteBook({ file, create: false });
    expect(book.recordings()[0]).toMatchObject({ state: "closed", derived: true });
    expect(book.runsOf(1)).toHaveLength(12);
    book.close();
  },
  2 * PATIENCE_MS,
);

test(
  "the first day is cancelled: what was driven of it by then is kept, derived, and the car drives on",
  async () => {
    const file = join(folder, "a.gripbook");
    const { messages, ended, send } = start("--book", file, "--simulated");
    const events = () => messages.flatMap((message) => (message.kind === "event" ? [message.event] : []));
    const shares = () =>
      events().flatMap((event) => (event.event === "work" && event.work === "first-day" && event.share !== null ? [event.share] : []));
    await expect.poll(() => shares().some((share) => share > 0.25), { timeout: PATIENCE_MS }).toBe(true);
    send({ kind: "request", id: 1, name: "work.cancel", argument: { work: "first-day" } });
    await expect
      .poll(() => events().some((event) => event.event === "live" && event.can.state === "fresh"), { timeout: PATIENCE_MS })
      .toBe(true);
    expect(messages.find((message) => message.kind === "answer" && message.id === 1)).toMatchObject({ ok: true });
    send({ kind: "close" });
    expect(await ended).toEqual({ code: 0, said: "" });
    const book = openSqliteBook({ file, create: false });
    const day = book.recordings()[0];
    expect(day).toMatchObject({ state: "closed", derived: true });
    const runs = book.runsOf(day?.id ?? 0);
    expect(runs.length).toBeGreaterThan(1);
    expect(runs.length).toBeLessThan(12);
    expect(runs.every((run) => run.final)).toBe(true);
    book.close();
  },
  2 * PATIENCE_MS,
);

test("without a book it ends with one line and code 2, so that nobody starts it again and again", async () => {
  const { code, said } = await start("--simulated").ended;
  expect(code).toBe(2);
  expect(said.trim()).toBe("Expected --book FILE");
});
