/**
 * A device that sleeps is used again when it wakes: on real PTYs, silent for longer than the source waits before it asks, with answers
 * after 5 to 500 ms. "Used again" means that its bytes are read within a second of the first one.
 */
import { afterAll, expect, test, vi } from "vitest";
import { createHostClock } from "../../../../src/main/adapters/host/host-clock.ts";
import { createSources } from "../../../../src/main/adapters/sources/create-sources.ts";
import type { ByteSource } from "../../../../src/main/ports/byte-source.ts";
import type { SetUp } from "../../../../src/shared/setup/set-up.ts";
import { createPtyDevice, type PtyDevice, whyNoPty } from "../../../support/pty-device.ts";
import { createSlcanDevice, type SlcanManners } from "../../../support/slcan-device.ts";

if (whyNoPty !== null) console.warn(`skipped: sleeping devices: ${whyNoPty}`);
const ptyTest = test.skipIf(whyNoPty !== null);
const RMC = "$GPRMC,092725.00,A,4717.11437,N,00833.91522,E,0.004,77.52,091202,,,A*5E\r\n";
/** A busy machine's own delays, in addition to the promised second. */
const SPARE_MS = 1500;

const made: { devices: PtyDevice[]; sources: ByteSource[] } = { devices: [], sources: [] };
afterAll(async () => {
  await Promise.all(made.sources.splice(0).map((source) => source.stop()));
  await Promise.all(made.devices.splice(0).map((device) => device.dispose()));
});

interface Heard {
  bytes: number;
  lastMs: number;
  words: string[];
  gaps: boolean[];
}

function start(sources: SetUp["sources"]): Heard {
  const heard: Heard = { bytes: 0, lastMs: 0, words: [], gaps: [] };
  for (const source of createSources({ sources }, createHostClock())) {
    made.sources.push(source);
    source.start({
      onBytes(bytes) {
        heard.bytes += bytes.length;
        heard.lastMs = performance.now();
      },
      onReport: ({ state, words }) => heard.words.push(`${state}: ${words}`),
      onGap: (_cause, _fromNs, toNs) => heard.gaps.push(toNs !== null),
    });
  }
  return heard;
}

const until = (met: () => boolean) => vi.waitFor(() => expect(met()).toBe(true), { timeout: 120_000, interval: 5 });
const sleep = (ms: number) => new Promise((done) => setTimeout(done, ms));

/** Each sleeps for another time, so that it wakes at another point of the source's work. */
const ADAPTERS: readonly (readonly [string, Partial<SlcanManners>, number])[] = [
  ["knows F, answers after 5 ms", { answerMs: 5, refuses: ["V"] }, 17_000],
  ["knows F, answers after 50 ms", { answerMs: 50, refuses: ["V"] }, 27_000],
  ["knows F, answers after 500 ms", { answerMs: 500, refuses: ["V"] }, 15_700],
  ["refuses F, answers after 50 ms", { answerMs: 50 }, 27_000],
  ["refuses F, answers after 200 ms", { answerMs: 200 }, 33_000],
  ["refuses F, answers after 500 ms", { answerMs: 500 }, 22_000],
];

ptyTest.concurrent.each(ADAPTERS)("an adapter on a sleeping bus that %s", async (_, manners, sleepMs) => {
  const adapter = await createSlcanDevice(manners);
  made.devices.push(adapter);
  const heard = start({ can: { port: adapter.path, baud: 115200, bitrate: 500_000, adapterClock: true } });
  await until(() => heard.bytes > 0);
  adapter.awake = false;
  await sleep(sleepMs);
  const before = heard.bytes;
  expect(heard.words.at(-1)).toMatch(/^stale: silent for/);
  adapter.awake = true;
  const wokeMs = performance.now();
  await until(() => heard.bytes > before);
  expect(heard.lastMs - wokeMs).toBeLessThan(1000 + SPARE_MS);
  expect(heard.gaps).toEqual([false, true]);
  await until(() => heard.words.at(-1)?.startsWith("fresh") === true);
});

ptyTest.concurrent("an adapter that lost its supply behind a living port is begun anew", async () => {
  const adapter = await createSlcanDevice({ refuses: ["V"] });
  made.devices.push(adapter);
  const heard = start({ can: { port: adapter.path, baud: 115200, bitrate: 500_000, adapterClock: true } });
  await until(() => heard.bytes > 0);
  adapter.restart();
  const before = heard.bytes;
  await sleep(1000);
  await until(() => heard.bytes > before + 100);
});

ptyTest.concurrent("a receiver that was silent for long is heard again, its port opened anew meanwhile", async () => {
  const receiver = await createPtyDevice();
  made.devices.push(receiver);
  await receiver.plug();
  const heard = start({ gnss: { port: receiver.path, baud: 9600 } });
  await until(() => heard.words.some((words) => words.startsWith("waiting")));
  receiver.write(RMC);
  await until(() => heard.bytes === RMC.length);
  await sleep(17_500);
  const wokeMs = performance.now();
  const sending = setInterval(() => receiver.write(RMC), 100);
  await until(() => heard.bytes > RMC.length);
  clearInterval(sending);
  expect(heard.lastMs - wokeMs).toBeLessThan(1000 + SPARE_MS);
  expect(receiver.written).toHaveLength(0);
});

ptyTest.concurrent("a receiver that was unplugged for long is open again within a second of being plugged in", async () => {
  const receiver = await createPtyDevice();
  made.devices.push(receiver);
  await receiver.plug();
  const heard = start({ gnss: { port: receiver.path, baud: 9600 } });
  await until(() => heard.words.some((words) => words.startsWith("waiting")));
  await receiver.unplug();
  await sleep(14_000);
  await receiver.plug();
  const pluggedMs = performance.now();
  const sending = setInterval(() => receiver.write(RMC), 50);
  await until(() => heard.bytes > 0);
  clearInterval(sending);
  expect(heard.lastMs - pluggedMs).toBeLessThan(1000 + SPARE_MS);
});
