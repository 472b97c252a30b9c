/**
 * Listening that a person cancels (work of more than half a second shows progress and can be cancelled): it ends at once, everything is as
 * before, ports are opened again, and an adapter's port that was never listened to stays closed (docs/design.md, safety).
 */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { openSqliteBook } from "../../../../src/main/adapters/sqlite/sqlite-book.ts";
import type { WiringCore } from "../../../../src/main/core/wiring/wiring-core-parts.ts";
import type { Book } from "../../../../src/main/ports/book.ts";
import type { ByteSource } from "../../../../src/main/ports/byte-source.ts";
import type { HeardPort, Listening, SetUpStore } from "../../../../src/main/ports/set-up-desk.ts";
import type { CoreEvent, WorkEvent } from "../../../../src/shared/contract/contract.ts";
import { CANCELLED } from "../../../../src/shared/contract/contract-error.ts";
import type { WiringView } from "../../../../src/shared/contract/wiring-contract.ts";
import { type DraftSetUp, EMPTY_DRAFT } from "../../../../src/shared/setup/draft-set-up.ts";
import { draftText, parseDraft } from "../../../../src/shared/setup/set-up-text.ts";
import { createFakeClock } from "../../../support/driven-core.ts";
import { askChecked, createTestedWiringCore } from "../../../support/wiring-core.ts";

const NMEA: HeardPort = { trouble: null, words: "NMEA 0183 at 38400 baud", receiverBaud: 38400, bytes: 500 };
const SILENT: HeardPort = { trouble: "silent", words: "no byte came", receiverBaud: null, bytes: 0 };
const BOTH: DraftSetUp = {
  ...EMPTY_DRAFT,
  sources: {
    gnss: { port: "/dev/receiver", baud: 38400 },
    can: { port: "/dev/adapter", baud: 115200, bitrate: 500_000, adapterClock: true },
  },
};

let folder: string;
let book: Book;
let core: WiringCore;
let kept: DraftSetUp;
let isOpen: Set<string>;
let events: CoreEvent[];
/** Ports that are listened to without an end, until cancelled. */
let endless: Set<string>;
/** Ports that the ears hold open now. */
let held: Set<string>;
/** Why a core cannot be made any more; null while it can. */
let unmakeable: string | null;

const store: SetUpStore = {
  file: "/car/new.json",
  read: () => ({ text: draftText(kept), draft: kept }),
  signalFiles: () => [],
  write: (text) => {
    kept = parseDraft(text, "Set-up").draft;
  },
  addSignalFile: (name) => name,
};

const sourceOf = (stream: "gnss" | "can"): ByteSource => ({
  stream,
  canFormat: "slcan",
  start(listener) {
    isOpen.add(stream);
    listener.onReport({ state: "waiting", words: "open" });
  },
  stop: async () => void isOpen.delete(stream),
});

async function listen(path: string, { signal, onStep }: Listening): Promise<HeardPort> {
  onStep(`Listening on ${path}`, 0);
  if (!endless.has(path)) return path === "/dev/adapter" ? SILENT : NMEA;
  held.add(path);
  await new Promise((resolve) => signal.addEventListener("abort", resolve));
  // A port takes a moment to close: a cancel must wait for it.
  await new Promise((resolve) => setTimeout(resolve, 5));
  held.delete(path);
  throw signal.reason;
}

function start(draft: DraftSetUp): void {
  kept = draft;
  const clock = createFakeClock();
  core = createTestedWiringCore({
    book,
    clock,
    emit: (event) => events.push(event),
    store,
    ears: {
      hear: (path, _, listening) => listen(path, listening),
      list: async (_, __, listening) => {
        await listen("all", listening);
        return [];
      },
      async findBitrate(source, listening) {
        await listen(source.port, listening);
        return 250_000;
      },
    },
    makeSources(sources) {
      if (unmakeable !== null) throw new Error(unmakeable);
      return (["gnss", "can"] as const).filter((stream) => sources?.[stream] !== undefined).map(sourceOf);
    },
  });
  core.start();
}

const ask = async <T>(name: string, argument: unknown = {}) => (await askChecked(core, name, argument)) as T;
const works = () => events.filter((event): event is WorkEvent => event.event === "work");
const until = async (holds: () => boolean) => {
  for (let i = 0; i < 24_000 && !holds(); i += 1) await new Promise((resolve) => setTimeout(resolve, 5));
  expect(holds()).toBe(true);
};

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-cancel-"));
  book = openSqliteBook({ file: join(folder, "day.gripbook"), create: true });
  isOpen = new Set();
  events = [];
  endless = new Set();
  unmakeable = null;
  held = new Set();
});
afterEach(async () => {
  await core.close();
  book.close();
  rmSync(folder, { recursive: true });
});

test("a source's listening is cancelled: the set-up, what was heard and the open ports are as before, and no port stays held", async () => {
  start(BOTH);
  await until(() => isOpen.size === 2);
  const before = await ask<WiringView>("wiring.read");
  endless = new Set(["/dev/new"]);
  const asked = ask("wiring.source", { stream: "gnss", port: "/dev/new", baud: null });
  asked.catch(() => undefined);
  await until(() => held.has("/dev/new"));
  // While it listens, the set-up's own ports are closed, and screens are told that it can be cancelled.
  expect(isOpen.size).toBe(0);
  expect(works().at(-1)).toMatchObject({ work: "listening", words: "Listening on /dev/new", cancellable: true });
  await ask("work.cancel", { work: "listening" });
  await expect(asked).rejects.toThrow(CANCELLED);
  expect(held.size).toBe(0);
  expect([...isOpen].sort()).toEqual(["can", "gnss"]);
  expect(kept).toEqual(BOTH);
  expect(works().at(-1)).toMatchObject({ work: "listening", words: null });
  expect(await ask<WiringView>("wiring.read")).toEqual(before);
  // Nothing is left to cancel, and that is no error; the next change works.
  await ask("work.cancel", { work: "listening" });
  endless.clear();
  await ask("wiring.source", { stream: "gnss", port: "/dev/new", baud: null });
  expect(kept.sources.gnss).toEqual({ port: "/dev/new", baud: 38400 });
});

test("a bit-rate search and looking through all ports are cancelled the same way", async () => {
  start(BOTH);
  await until(() => isOpen.size === 2);
  endless = new Set(["/dev/adapter", "all"]);
  const search = ask("wiring.bitrate", { driveDisabled: true });
  search.catch(() => undefined);
  await until(() => held.has("/dev/adapter"));
  await ask("work.cancel", { work: "bitrate" });
  await expect(search).rejects.toThrow(CANCELLED);
  expect([...isOpen].sort()).toEqual(["can", "gnss"]);
  expect(kept.sources.can).toMatchObject({ bitrate: 500_000 });
  const list = ask("wiring.ports", { more: [] });
  list.catch(() => undefined);
  await until(() => held.has("all"));
  // Choosing a source's port first ends the search of all ports: none is opened twice.
  await ask("wiring.source", { stream: "gnss", port: "/dev/other", baud: null });
  await expect(list).rejects.toThrow(CANCELLED);
});

test("cancelled at the start, the adapter's port stays closed until it was listened to, and the tool says so", async () => {
  endless = new Set(["/dev/receiver", "/dev/adapter"]);
  start(BOTH);
  await until(() => held.size === 2);
  await ask("work.cancel", { work: "listening" });
  await until(() => isOpen.has("gnss"));
  expect(isOpen.has("can")).toBe(false);
  expect((await ask<WiringView>("wiring.read")).can).toMatchObject({ trouble: "unheard" });
  await expect(ask("wiring.bitrate", { driveDisabled: true })).rejects.toThrow(/Check again first/);
  endless.clear();
  await ask("wiring.check");
  expect(isOpen.has("can")).toBe(true);
  expect((await ask<WiringView>("wiring.read")).can).toMatchObject({ trouble: null });
});

test("closing while a port is listened to does not wait for its end", async () => {
  start(EMPTY_DRAFT);
  endless = new Set(["/dev/new"]);
  const asked = ask("wiring.source", { stream: "gnss", port: "/dev/new", baud: null });
  asked.catch(() => undefined);
  await until(() => held.has("/dev/new"));
  await core.close();
  await expect(asked).rejects.toThrow(CANCELLED);
  expect(held.size).toBe(0);
});

test("what keeps the ports from being opened after the first listening is told: a car that nobody hears must not look as one that is silent", async () => {
  start(BOTH);
  unmakeable = "Book day.gripbook is damaged";
  await until(() => events.some((event) => event.event === "notice" && event.text === "No port is open: Book day.gripbook is damaged"));
});
