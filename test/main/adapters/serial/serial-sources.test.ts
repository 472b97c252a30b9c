/**
 * Serial sources on real PTYs: what is written to an adapter, and one clear line for each problem. SLCAN answers: docs/check-values.md,
 * SLCAN.
 */
import { afterEach, expect, test } from "vitest";
import { createHostClock } from "../../../../src/main/adapters/host/host-clock.ts";
import { listPorts } from "../../../../src/main/adapters/serial/list-ports.ts";
import { createSources } from "../../../../src/main/adapters/sources/create-sources.ts";
import type { ByteSource } from "../../../../src/main/ports/byte-source.ts";
import type { SetUp } from "../../../../src/shared/setup/set-up.ts";
import { answerLikeAdapter, createPtyDevice, type PtyDevice, whyNoPty } from "../../../support/pty-device.ts";

if (whyNoPty !== null) console.warn(`skipped: serial sources: ${whyNoPty}`);
const ptyTest = test.skipIf(whyNoPty !== null);

/** docs/design.md, safety: the only bytes an adapter may ever get. */
const SAFE = /^((C|S[0-8]|Z[01]|L|V|N|F)\r)+$/;
const RMC = "$GPRMC,092725.00,A,4717.11437,N,00833.91522,E,0.004,77.52,091202,,,A*5E\r\n";

const opened: { devices: PtyDevice[]; sources: ByteSource[] } = { devices: [], sources: [] };
afterEach(async () => {
  await Promise.all(opened.sources.splice(0).map((source) => source.stop()));
  await Promise.all(opened.devices.splice(0).map((device) => device.dispose()));
});

async function device(): Promise<PtyDevice> {
  const made = await createPtyDevice();
  opened.devices.push(made);
  await made.plug();
  return made;
}

interface Heard {
  text: string;
  words: string[];
  gaps: { cause: string; over: boolean }[];
  arrivals: number[];
}

function start(sources: SetUp["sources"]): Heard {
  const heard: Heard = { text: "", words: [], gaps: [], arrivals: [] };
  const setUp = { sources } as SetUp;
  for (const source of createSources(setUp, createHostClock())) {
    opened.sources.push(source);
    source.start({
      onBytes(bytes, arrivalNs) {
        heard.text += Buffer.from(bytes).toString("latin1");
        heard.arrivals.push(arrivalNs);
      },
      onReport: ({ state, words }) => heard.words.push(`${state}: ${words}`),
      onGap: (cause, _fromNs, toNs) => heard.gaps.push({ cause, over: toNs !== null }),
    });
  }
  return heard;
}

const until = (met: () => boolean) => expect.poll(met, { interval: 10 }).toBe(true);
const can = (port: string) => ({ can: { port, baud: 115200, bitrate: 500_000, adapterClock: true } });

ptyTest("an adapter is opened listen-only with safe bytes alone, and closed at the end", async () => {
  const adapter = await device();
  answerLikeAdapter(adapter, { onOpen: () => adapter.write("t1232AABB0010\r") });
  const heard = start(can(adapter.path));
  await until(() => heard.text !== "");
  expect(heard.text).toBe("t1232AABB0010\r");
  expect(adapter.written.toString("latin1")).toBe("S6\rC\rS6\rZ1\rL\r");
  expect(heard.arrivals.every((ns) => Number.isInteger(ns / 1000))).toBe(true);
  await Promise.all(opened.sources.splice(0).map((source) => source.stop()));
  await until(() => adapter.written.toString("latin1").endsWith("L\rC\r"));
  expect(adapter.written.toString("latin1")).toMatch(SAFE);
});

ptyTest("an adapter left open by another program, sending frames all the while, is begun cleanly", async () => {
  const adapter = await device();
  let open = true;
  answerLikeAdapter(adapter, { onOpen: () => (open = true), onClose: () => (open = false) });
  const sending = setInterval(() => open && adapter.write("t1232AABB0010\rT0000012310A0020\r"), 3);
  const heard = start(can(adapter.path));
  await until(() => heard.text.length > 200);
  clearInterval(sending);
  expect(
    heard.text
      .split("\r")
      .filter((line) => line !== "")
      .every((line) => line === "t1232AABB0010" || line === "T0000012310A0020"),
  ).toBe(true);
  expect(adapter.written.toString("latin1")).toMatch(SAFE);
});

ptyTest("an adapter that refuses to listen only is closed and said so, and gets no other open command", async () => {
  const adapter = await device();
  answerLikeAdapter(adapter, { refuse: ["L"] });
  const heard = start(can(adapter.path));
  await until(() => heard.words.some((words) => words.startsWith("wrong")));
  expect(heard.words.at(-1)).toMatch(
    /refused to open listen-only, so its channel stays closed and nothing goes on the bus: use an adapter that knows the L command/,
  );
  // The PTY hands the close on a moment after it was written.
  await until(() => adapter.written.toString("latin1").endsWith("L\rC\r"));
  expect(adapter.written.toString("latin1")).toMatch(SAFE);
  expect(heard.text).toBe("");
});

ptyTest("an adapter that answers no command, yet sends frames, is listened to after the same safe bytes", async () => {
  const adapter = await device();
  const sending = setInterval(() => adapter.write("t1232AABB0010\rT0000012310A0020\r"), 3);
  const heard = start(can(adapter.path));
  await until(() => heard.text.includes("t1232AABB0010\r"));
  await until(() => heard.words.some((words) => words.includes("not confirmed")));
  clearInterval(sending);
  expect(adapter.written.toString("latin1")).toBe("S6\rC\rS6\rZ1\rL\r");
});

ptyTest("a receiver on the adapter's port is told from its sentences, and not one byte is written to it", async () => {
  const receiver = await device();
  const sending = setInterval(() => receiver.write(RMC), 200);
  const heard = start(can(receiver.path));
  await until(() => heard.words.some((words) => words.includes("exchange sources.can.port and sources.gnss.port")));
  await Promise.all(opened.sources.splice(0).map((source) => source.stop()));
  clearInterval(sending);
  expect(receiver.written).toHaveLength(0);
  expect(heard.text).toBe("");
});

ptyTest("an adapter that answers nothing is said so with the remedy", async () => {
  const adapter = await device();
  const heard = start(can(adapter.path));
  await until(() => heard.words.some((words) => words.startsWith("wrong")));
  expect(heard.words.at(-1)).toMatch(/no answer: correct sources\.can\.port or sources\.can\.baud/);
});

ptyTest("nothing is ever written to a receiver", async () => {
  const receiver = await device();
  const heard = start({ gnss: { port: receiver.path, baud: 38400 } });
  await until(() => heard.words.some((words) => words.startsWith("waiting")));
  receiver.write(RMC);
  await until(() => heard.words.some((words) => words.startsWith("fresh")));
  await Promise.all(opened.sources.splice(0).map((source) => source.stop()));
  expect(heard.text).toBe(RMC);
  expect(receiver.written).toHaveLength(0);
});

ptyTest("bytes without one valid sentence are named as a wrong baud, while a missing port names the port", async () => {
  const receiver = await device();
  const heard = start({ gnss: { port: receiver.path, baud: 38400 }, ...can("/dev/gripbook-no-such-port") });
  await until(() => heard.words.some((words) => words.startsWith("waiting")));
  const garbage = setInterval(() => receiver.write(Buffer.from(Array.from({ length: 100 }, (_, i) => (i * 73 + 128) % 256))), 20);
  await until(() => heard.words.some((words) => words.startsWith("wrong")));
  clearInterval(garbage);
  expect(heard.words.find((words) => words.startsWith("wrong"))).toMatch(
    /bytes come, no valid NMEA sentence among them: wrong baud\? The set-up says 38400/,
  );
  expect(heard.words).toContainEqual(
    "absent: CAN adapter: port /dev/gripbook-no-such-port is not there: plug the device in, or correct sources.can.port in the set-up (`ports` lists what is there)",
  );
});

ptyTest("a device that is unplugged and plugged in again goes on, with the gap and its cause told", async () => {
  const receiver = await device();
  const heard = start({ gnss: { port: receiver.path, baud: 9600 } });
  await until(() => heard.words.some((words) => words.startsWith("waiting")));
  receiver.write(RMC);
  await until(() => heard.text === RMC);
  await receiver.unplug();
  await until(() => heard.words.some((words) => words.startsWith("absent")));
  expect(heard.words.at(-1)).toMatch(/plug it in again, it is opened by itself|is not there: plug the device in/);
  await receiver.plug();
  // Open again and not yet heard: no longer said to be gone.
  await until(() => heard.words.at(-1)?.startsWith("waiting") === true);
  const sending = setInterval(() => receiver.write(RMC), 50);
  await until(() => heard.text.length > RMC.length);
  clearInterval(sending);
  expect(heard.gaps[0]?.cause).toMatch(/unplugged|port closed/);
  expect(heard.gaps.map((gap) => gap.over)).toEqual([false, true]);
});

ptyTest("listPorts listens at a typed path and says what talks there, without writing", async () => {
  const receiver = await device();
  const silent = await device();
  const sending = setInterval(() => receiver.write(RMC), 100);
  const ports = await listPorts({ clock: createHostClock(), more: [receiver.path, silent.path], held: [] });
  clearInterval(sending);
  expect(ports.find((port) => port.path === receiver.path)?.talks).toBe("NMEA 0183 at 115200 baud");
  expect(ports.find((port) => port.path === silent.path)?.talks).toMatch(/^silent/);
  expect(receiver.written).toHaveLength(0);
});
