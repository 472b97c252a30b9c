/**
 * "It only listens" (README), over random sequences of everything that the Wiring screen can do, on real PTYs with the real core: a
 * receiver at 10 Hz, one at an unusual baud, and an adapter on a bus. Whatever is named, exchanged, undone, searched, checked or cancelled:
 * not one byte reaches a receiver, and only listen-only commands reach the adapter (docs/design.md, safety). Sequences come from a seed
 * that is printed on failure.
 */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, expect, test } from "vitest";
import { createSetUpStore } from "../../../../src/main/adapters/files/set-up-store.ts";
import { createHostClock } from "../../../../src/main/adapters/host/host-clock.ts";
import { createPortEars } from "../../../../src/main/adapters/serial/port-ears.ts";
import { createSources } from "../../../../src/main/adapters/sources/create-sources.ts";
import { openSqliteBook } from "../../../../src/main/adapters/sqlite/sqlite-book.ts";
import type { WiringCore } from "../../../../src/main/core/wiring/wiring-core-parts.ts";
import type { SetUpEdited } from "../../../../src/shared/contract/wiring-contract.ts";
import { createPtyDevice, type PtyDevice, whyNoPty } from "../../../support/pty-device.ts";
import { createRandom, type Random } from "../../../support/second-car/random.ts";
import { createSlcanDevice } from "../../../support/slcan-device.ts";
import { askChecked, createTestedWiringCore } from "../../../support/wiring-core.ts";

if (whyNoPty !== null) console.warn(`skipped: orders of Wiring's actions: ${whyNoPty}`);

/** docs/design.md, safety. */
const SAFE = /^((C|S[0-8]|Z[01]|L|V|N|F)\r)*$/;
const RMC = "$GPRMC,092725.00,A,4717.11437,N,00833.91522,E,0.004,77.52,091202,,,A*5E\r\n";
const GARBAGE = Buffer.from(Array.from(RMC, (letter, i) => 0x80 | ((letter.charCodeAt(0) * 7 + 13 * i) & 0x7f)));
const WALKS = 8;
const STEPS = 6;

const cleanUps: (() => Promise<unknown>)[] = [];
afterAll(async () => {
  for (const clean of cleanUps) await clean();
});

interface Bench {
  readonly core: WiringCore;
  readonly ports: { readonly receiver: PtyDevice; readonly odd: PtyDevice; readonly adapter: PtyDevice };
}

async function createBench(swapped: boolean): Promise<Bench> {
  const folder = mkdtempSync(join(tmpdir(), "gripbook-orders-"));
  const [receiver, odd, adapter] = [await createPtyDevice(), await createPtyDevice(), await createSlcanDevice()];
  await Promise.all([receiver.plug(), odd.plug()]);
  const says = [setInterval(() => receiver.write(RMC), 100), setInterval(() => odd.write(GARBAGE), 100)];
  const clock = createHostClock();
  const book = openSqliteBook({ file: join(folder, "day.gripbook"), create: true });
  const store = createSetUpStore(join(folder, "car.json"));
  const [gnss, can] = swapped ? [adapter.path, receiver.path] : [receiver.path, adapter.path];
  const sources = { gnss: { port: gnss, baud: 115200 }, can: { port: can, baud: 115200, bitrate: 500_000, adapterClock: true } };
  store.write(JSON.stringify({ ...store.read().draft, sources }));
  const core = createTestedWiringCore({
    book,
    clock,
    ears: createPortEars(clock),
    store,
    makeSources: (sources) =>
      sources !== null && Object.values(sources).some((source) => source !== undefined) ? createSources({ sources }, clock) : [],
  });
  core.start();
  const beat = setInterval(() => core.beat(), 20);
  cleanUps.push(async () => {
    await core.close();
    for (const timer of [...says, beat]) clearInterval(timer);
    await Promise.all([receiver, odd, adapter].map((device) => device.dispose()));
    book.close();
    rmSync(folder, { recursive: true, force: true });
  });
  return { core, ports: { receiver, odd, adapter } };
}

/** One random action; a refusal in words is an answer too. Undo requests are kept for later. */
async function act({ core, ports }: Bench, random: Random, undoes: SetUpEdited["undo"][]): Promise<string> {
  const port = () => random.pick([ports.receiver.path, ports.receiver.path, ports.odd.path, ports.adapter.path, ports.adapter.path]);
  const source = (stream: "gnss" | "can") => ["wiring.source", { stream, port: port(), baud: random.pick([null, 115200, 9600]) }] as const;
  const undo = undoes.pop();
  const [name, argument] = random.pick([
    source("gnss"),
    source("can"),
    source("can"),
    ["wiring.source", { stream: random.pick(["gnss", "can"] as const), port: null, baud: null }] as const,
    ["wiring.swap", {}] as const,
    ["wiring.swap", {}] as const,
    ["wiring.bitrate", { driveDisabled: true }] as const,
    ["wiring.bitrate", { driveDisabled: true }] as const,
    ["wiring.check", {}] as const,
    ["wiring.ports", { more: [port()] }] as const,
    undo === undefined ? (["wiring.read", {}] as const) : ([undo.name, undo.argument] as const),
  ]);
  const cancelled = random.chance(0.3);
  const asked = askChecked(core, name, argument);
  const timer = setTimeout(
    () => {
      if (cancelled) for (const work of ["listening", "bitrate", "ports"]) void askChecked(core, "work.cancel", { work });
    },
    random.between(50, 3000),
  );
  try {
    const answer = (await asked) as Partial<SetUpEdited> | null;
    if (answer?.undo !== undefined) undoes.push(answer.undo);
    return `${name} ${JSON.stringify(argument)}`;
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    return `${name} ${JSON.stringify(argument)}: ${error.message}`;
  } finally {
    clearTimeout(timer);
    // Opened devices get a moment to send before the next action.
    await new Promise((done) => setTimeout(done, random.between(0, 2500)));
  }
}

test.skipIf(whyNoPty !== null)(
  "no order of Wiring's actions writes to a receiver, or anything but listen-only commands to the adapter",
  async () => {
    const seed = 4000;
    const walks = await Promise.all(
      Array.from({ length: WALKS }, async (_, i) => {
        const random = createRandom(seed + i);
        const bench = await createBench(i % 2 === 1);
        const undoes: SetUpEdited["undo"][] = [];
        const done: string[] = [];
        for (let step = 0; step < STEPS; step += 1) done.push(await act(bench, random, undoes));
        return { bench, said: `walk ${seed + i}:\n${done.join("\n")}` };
      }),
    );
    for (const { bench, said } of walks) {
      const { receiver, odd, adapter } = bench.ports;
      expect(receiver.written.toString("latin1"), said).toBe("");
      expect(odd.written.toString("latin1"), said).toBe("");
      expect(adapter.written.toString("latin1"), said).toMatch(SAFE);
    }
    // Something was written to the adapters; otherwise this test would show nothing.
    expect(walks.some(({ bench }) => bench.ports.adapter.written.includes("L\r"))).toBe(true);
  },
);
