/**
 * Not one byte where it does not belong, on real PTYs: every opening listens before it writes, each command waits for its own answer, and a
 * refusal counts however late it comes. SLCAN answers: docs/check-values.md, SLCAN. NMEA 0183: one sentence with its checksum, of gpsd's
 * test logs.
 */
import { afterAll, expect, test, vi } from "vitest";
import { createHostClock } from "../../../../src/main/adapters/host/host-clock.ts";
import { createPortEars } from "../../../../src/main/adapters/serial/port-ears.ts";
import { createSources } from "../../../../src/main/adapters/sources/create-sources.ts";
import type { ByteSource } from "../../../../src/main/ports/byte-source.ts";
import type { SetUp } from "../../../../src/shared/setup/set-up.ts";
import { createPtyDevice, type PtyDevice, whyNoPty, whyNoUart } from "../../../support/pty-device.ts";
import { createRandom } from "../../../support/second-car/random.ts";
import { createSlcanDevice } from "../../../support/slcan-device.ts";

if (whyNoPty !== null) console.warn(`skipped: listening before writing: ${whyNoPty}`);
/** Most of the time of each is waiting. */
const ptyTest = test.skipIf(whyNoPty !== null).concurrent;

const uartTest = test.skipIf(whyNoUart !== null).concurrent;

/** docs/design.md, safety: the only bytes an adapter may ever get. */
const SAFE = /^((C|S[0-8]|Z[01]|L|V|N|F)\r)*$/;
const RMC = "$GPRMC,092725.00,A,4717.11437,N,00833.91522,E,0.004,77.52,091202,,,A*5E\r\n";

const made: { devices: PtyDevice[]; sources: ByteSource[]; timers: ReturnType<typeof setInterval>[] } = {
  devices: [],
  sources: [],
  timers: [],
};
afterAll(async () => {
  await Promise.all(made.sources.splice(0).map((source) => source.stop()));
  for (const timer of made.timers.splice(0)) clearInterval(timer);
  await Promise.all(made.devices.splice(0).map((device) => device.dispose()));
});

async function kept<T extends PtyDevice>(creating: Promise<T>): Promise<T> {
  const device = await creating;
  made.devices.push(device);
  return device;
}

async function plain(): Promise<PtyDevice> {
  const device = await kept(createPtyDevice());
  await device.plug();
  return device;
}

const says = (device: PtyDevice, text: () => Uint8Array | string, everyMs: number) =>
  made.timers.push(setInterval(() => device.write(text()), everyMs));

interface Heard {
  text: string;
  words: string[];
  stop(): Promise<unknown>;
}

const can = (port: string) => ({ port, baud: 115200, bitrate: 500_000, adapterClock: true });

function start(sources: SetUp["sources"]): Heard {
  const all = createSources({ sources }, createHostClock());
  const heard: Heard = { text: "", words: [], stop: () => Promise.all(all.map((source) => source.stop())) };
  for (const source of all) {
    made.sources.push(source);
    source.start({
      onBytes: (bytes) => {
        heard.text += Buffer.from(bytes).toString("latin1");
      },
      onReport: ({ state, words }) => heard.words.push(`${state}: ${words}`),
      onGap: () => undefined,
    });
  }
  return heard;
}

const until = (met: () => boolean) => vi.waitFor(() => expect(met()).toBe(true), { timeout: 120_000, interval: 10 });
const listening = { signal: new AbortController().signal, onStep: () => undefined };

ptyTest("a receiver that took the adapter's place while nobody looked gets not one byte: each opening listens anew", async () => {
  const adapter = await kept(createSlcanDevice());
  const heard = start({ can: can(adapter.path) });
  await until(() => heard.text !== "");
  const before = adapter.written.length;
  await adapter.unplug();
  await until(() => heard.words.some((words) => words.startsWith("absent")));
  // The same port name, another device.
  adapter.awake = false;
  await adapter.plug();
  says(adapter, () => RMC, 200);
  await until(() => heard.words.some((words) => words.includes("a receiver's NMEA sentences arrive there")));
  await heard.stop();
  expect(adapter.written.length).toBe(before);
});

ptyTest("what is neither silence nor an adapter's lines is not written to: a receiver at a baud that nobody guesses", async () => {
  const receiver = await plain();
  let k = 0;
  // What a UART makes of sentences at another baud: as many bytes, and none of them a line.
  says(receiver, () => Buffer.from(Array.from(RMC, (letter) => 0x80 | ((letter.charCodeAt(0) * 7 + 13 * k++) & 0x7f))), 200);
  const heard = start({ can: can(receiver.path) });
  await until(() => heard.words.some((words) => words.startsWith("wrong")));
  expect(heard.words.at(-1)).toMatch(/something talks there, but not at 115200 baud/);
  await heard.stop();
  expect(receiver.written).toHaveLength(0);
});

ptyTest("a receiver that wakes up in the middle of the talk hears nothing more", async () => {
  const receiver = await plain();
  const heard = start({ can: can(receiver.path) });
  // Silent when it was listened to: it got one command, and answers with what it has to say.
  await until(() => receiver.written.length > 0);
  const first = receiver.written.length;
  says(receiver, () => RMC, 100);
  await until(() => heard.words.some((words) => words.includes("NMEA sentences arrive there")));
  await heard.stop();
  expect(receiver.written.length).toBe(first);
});

ptyTest("an adapter that an earlier program left open, on a bus that only it reports of, is begun", async () => {
  const adapter = await kept(createSlcanDevice());
  const reports = setInterval(() => adapter.open || adapter.write("sa000000\r"), 200);
  made.timers.push(reports);
  const heard = start({ can: can(adapter.path) });
  await until(() => heard.text !== "");
  expect(adapter.written.toString("latin1")).toMatch(SAFE);
});

ptyTest("the search for a bit rate listens first, and names a receiver instead of writing to it", async () => {
  const receiver = await plain();
  says(receiver, () => RMC, 200);
  await expect(createPortEars(createHostClock()).findBitrate(can(receiver.path), listening)).rejects.toThrow(/NMEA sentences arrive there/);
  expect(receiver.written).toHaveLength(0);
});

uartTest.each([19_200, 921_600])("hear() knows a receiver at %i baud", async (baud) => {
  const receiver = await kept(createPtyDevice({ uartBaud: baud }));
  await receiver.plug();
  says(receiver, () => RMC, 150);
  expect(await createPortEars(createHostClock()).hear(receiver.path, null, listening)).toMatchObject({
    trouble: null,
    receiverBaud: baud,
  });
});

ptyTest.each([50, 700, 1500])("an adapter that answers after %i ms and refuses L is refused, never listened to", async (answerMs) => {
  const adapter = await kept(createSlcanDevice({ answerMs, refuses: ["L", "V", "N", "F"] }));
  const heard = start({ can: can(adapter.path) });
  await until(() => heard.words.some((words) => words.startsWith("wrong")));
  expect(heard.words.find((words) => words.startsWith("wrong"))).toMatch(/refused to open listen-only/);
  expect(heard.words.some((words) => words.startsWith("waiting") || words.startsWith("fresh"))).toBe(false);
  expect(heard.text).toBe("");
  expect(adapter.written.toString("latin1")).toMatch(SAFE);
});

ptyTest.each([50, 700, 1500])("an adapter that answers after %i ms is listened to once L itself was answered", async (answerMs) => {
  const adapter = await kept(createSlcanDevice({ answerMs }));
  const heard = start({ can: can(adapter.path) });
  await until(() => heard.text !== "");
  expect(adapter.open).toBe(true);
  expect(heard.text).toMatch(/^(t1232AABB0010\r)+/);
  expect(adapter.written.toString("latin1")).toMatch(SAFE);
});

ptyTest("an adapter that never answers C or Z1 is listened to only if its open channel is confirmed", async () => {
  const sure = await kept(createSlcanDevice({ ignores: ["C", "Z"], refuses: ["V", "N"] }));
  const confirmed = start({ can: can(sure.path) });
  const unsure = await kept(createSlcanDevice({ ignores: ["C", "Z"] }));
  const refused = start({ can: can(unsure.path) });
  await until(() => confirmed.text !== "" && refused.words.some((words) => words.startsWith("wrong")));
  expect(refused.words.at(-1)).toMatch(/did not confirm that it only listens/);
  expect(refused.text).toBe("");
});

ptyTest("an adapter that answers everything twice and refuses L is closed again", async () => {
  const adapter = await kept(createSlcanDevice({ refuses: ["L"], stutters: true, answerMs: 50 }));
  const heard = start({ can: can(adapter.path) });
  await until(() => heard.words.some((words) => words.startsWith("wrong")));
  expect(adapter.open).toBe(false);
  await until(() => adapter.written.toString("latin1").endsWith("L\rC\r"));
});

ptyTest(
  "whatever an adapter answers, and whenever: only listen-only commands are written, and it is listened to only if it took L",
  async () => {
    const walks = await Promise.all(
      Array.from({ length: 24 }, async (_, i) => {
        const random = createRandom(5000 + i);
        const refuses = ["L", "V", "N", "F", "C", "S", "Z"].filter(() => random.chance(0.4));
        const ignores = ["C", "Z", "F"].filter(() => random.chance(0.3));
        const whim = () => (random.chance(0.15) ? null : random.chance(0.3) ? random.between(0, 4000) : 0);
        const adapter = await kept(createSlcanDevice({ refuses, ignores, whim, stutters: false, answerMs: random.between(1, 200) }));
        return { adapter, refuses, heard: start({ can: can(adapter.path) }) };
      }),
    );
    await new Promise((done) => setTimeout(done, 25_000));
    // A busy machine takes longer to hear the first one.
    await until(() => walks.some(({ heard }) => heard.text.includes("t123")));
    for (const { adapter, refuses, heard } of walks) {
      expect(adapter.written.toString("latin1")).toMatch(SAFE);
      if (refuses.includes("L")) expect(heard.text).toBe("");
    }
  },
);

ptyTest("a mute adapter whose refusal comes late is closed again", async () => {
  const adapter = await kept(createPtyDevice());
  await adapter.plug();
  says(adapter, () => "t1232AABB0010\r", 5);
  const heard = start({ can: can(adapter.path) });
  await until(() => heard.words.some((words) => words.includes("not confirmed")));
  adapter.write("\x07");
  await until(() => heard.words.some((words) => words.startsWith("wrong")));
  await until(() => adapter.written.toString("latin1").endsWith("L\rC\r"));
});

ptyTest("stop() waits for a port that is being opened: it can be locked again at once", async () => {
  const adapter = await kept(createSlcanDevice());
  const bothTimes = async () => {
    const [source] = createSources({ sources: { can: can(adapter.path) } }, createHostClock());
    const words: string[] = [];
    source?.start({
      onBytes: () => undefined,
      onReport: ({ state, words: text }) => words.push(`${state}: ${text}`),
      onGap: () => undefined,
    });
    await source?.stop();
    return words;
  };
  for (let i = 0; i < 20; i += 1) expect((await bothTimes()).filter((words) => words.startsWith("absent"))).toEqual([]);
  const search = createPortEars(createHostClock()).findBitrate(can(adapter.path), listening);
  expect(await search).toBe(500_000);
});

ptyTest("bytes that mean nothing are told once, not every time somebody looks", async () => {
  const receiver = await plain();
  const heard = start({ gnss: { port: receiver.path, baud: 38400 } });
  says(receiver, () => Buffer.from(Array.from({ length: 100 }, (_, i) => (i * 73 + 128) % 256)), 20);
  await until(() => heard.words.some((words) => words.startsWith("wrong")));
  await new Promise((done) => setTimeout(done, 1500));
  expect(heard.words.filter((words) => words.startsWith("wrong"))).toHaveLength(1);
});
