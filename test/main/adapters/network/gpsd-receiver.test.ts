/**
 * A receiver behind gpsd: Debian's gpsd fed by its own gpsfake, and servers that only play one. Protocol: gpsd_json(5). Only the watch is
 * ever written, and only after the greeting.
 */
import { readFileSync } from "node:fs";
import { once } from "node:events";
import { type AddressInfo, createServer, type Socket } from "node:net";
import { fileURLToPath } from "node:url";
import { afterEach, expect, test } from "vitest";
import { createHostClock } from "../../../../src/main/adapters/host/host-clock.ts";
import { hearGpsd } from "../../../../src/main/adapters/network/hear-gpsd.ts";
import { freeTcpPort } from "../../../support/net-sender.ts";
import { createGpsdWords } from "../../../../src/main/adapters/network/gpsd-words.ts";
import { startGpsd, whyNoGpsd } from "../../../support/gpsd-fake.ts";
import { type HeardSource, hearSources } from "../../../support/heard-source.ts";
import { nmeaSentence } from "../../../support/nmea.ts";

if (whyNoGpsd !== null) console.warn(`skipped: gpsd fed by gpsfake: ${whyNoGpsd}`);
const gpsdTest = test.skipIf(whyNoGpsd !== null);

const captureOf = (name: string) => fileURLToPath(new URL(`../../../fixtures/gpsd/${name}`, import.meta.url));
const CAPTURE = captureOf("nmea-rtk.log");
const RMC = nmeaSentence("GPRMC,092725.00,A,4717.11437,N,00833.91522,E,0.004,77.52,091202,,,A");
const VERSION = '{"class":"VERSION","release":"3.22","rev":"3.22","proto_major":3,"proto_minor":14}\r\n';
const WATCH = '?WATCH={"enable":true,"nmea":true};';
const devices = (...paths: string[]) =>
  `${JSON.stringify({ class: "DEVICES", devices: paths.map((path) => ({ class: "DEVICE", path })) })}\r\n{"class":"WATCH","enable":true}\r\n`;

const opened: { stop(): Promise<unknown> }[] = [];
afterEach(async () => {
  await Promise.all(opened.splice(0).map((each) => each.stop()));
});
const kept = <T extends { stop(): Promise<unknown> }>(each: T): T => {
  opened.push(each);
  return each;
};
const hear = (gpsd: string): HeardSource => kept(hearSources({ gnss: { gpsd } }));
const until = (met: () => boolean) => expect.poll(met, { interval: 10, timeout: 100_000 }).toBe(true);
const said = (heard: HeardSource, words: RegExp) => until(() => heard.words.some((each) => words.test(each)));

/** Plays a gpsd: what it says at once, and once it was asked. */
async function played(greeting: string, answer: string): Promise<{ port: number; got: () => string; stop(): Promise<unknown> }> {
  const sockets = new Set<Socket>();
  let got = "";
  const made = createServer((socket) => {
    sockets.add(socket);
    socket.on("error", () => undefined);
    socket.on("data", (bytes) => {
      got += bytes.toString("latin1");
      socket.write(answer);
    });
    socket.write(greeting);
  }).listen(0, "127.0.0.1");
  await once(made, "listening");
  return kept({
    port: (made.address() as AddressInfo).port,
    got: () => got,
    async stop() {
      for (const socket of sockets) socket.destroy();
      const closed = once(made, "close");
      made.close();
      await closed;
    },
  });
}

gpsdTest("gpsd's receiver is heard sentence by sentence as its capture has them, without gpsd's own words", async () => {
  const gpsd = kept(await startGpsd([CAPTURE], 0.005));
  const heard = hear(`localhost:${gpsd.port}`);
  await until(() => heard.text.split("\n").length > 100);
  const lines = new Set(
    readFileSync(CAPTURE, "latin1")
      .split("\n")
      .map((line) => line.trim()),
  );
  const came = heard.text.split("\r\n").slice(0, -1);
  expect(came.filter((line) => !lines.has(line))).toEqual([]);
  await said(heard, /^fresh: $/);
});

gpsdTest("a gpsd that goes away and comes back is connected again by itself, and the hole is named", async () => {
  const gpsd = await startGpsd([CAPTURE], 0.005);
  const heard = hear(`127.0.0.1:${gpsd.port}`);
  await until(() => heard.text.length > 500);
  await gpsd.stop();
  await said(heard, /absent: Receiver: gpsd 127\.0\.0\.1:\d+ is gone \(.*\): it is opened again by itself/);
  await said(heard, /absent: Receiver: nothing answers at gpsd 127\.0\.0\.1:\d+: start what sends there, or correct sources\.gnss\.gpsd/);
  const before = heard.text.length;
  kept(await startGpsd([CAPTURE], 0.005, gpsd.port));
  await until(() => heard.text.length > before);
  expect(heard.gaps.map(({ over }) => over)).toEqual([false, true]);
});

gpsdTest("a gpsd with two receivers is refused: their sentences would mix", async () => {
  const gpsd = kept(await startGpsd([CAPTURE, captureOf("ublox-lea-4h.log")], 0.01));
  const heard = hear(`localhost:${gpsd.port}`);
  await said(heard, /wrong: Receiver: gpsd localhost:\d+ has 2 receivers \(.*\), and their sentences would mix: let it have one/);
});

test("exactly one constant is written, after the greeting, and once a connection", async () => {
  const gpsd = await played(VERSION, `${devices("/dev/ttyACM0")}${RMC}`);
  const heard = hear(`127.0.0.1:${gpsd.port}`);
  await until(() => heard.text === RMC);
  await heard.stop();
  expect(gpsd.got()).toBe(WATCH);
});

test("whoever does not greet like gpsd gets nothing written, and is called what it is", async () => {
  const sentences = await played(RMC, "");
  const silent = await played("", "");
  const web = await played("HTTP/1.1 400 Bad Request\r\n\r\n", "");
  const odd = await played(`{"class":"VERSION"${"[".repeat(100_000)}\r\n{"class":"OTHER"}\r\n{no json}\r\n{}\r\nnull\r\n`, "");
  const of = [sentences, silent, web, odd].map(({ port }) => hear(`127.0.0.1:${port}`));
  await said(of[0] as HeardSource, /wrong: Receiver: gpsd .* sends sentences without gpsd\u2019s greeting: name it as sources\.gnss\.tcp/);
  for (const heard of of.slice(1))
    await said(heard, /wrong: Receiver: gpsd .* is no gpsd, its greeting did not come: correct sources\.gnss\.gpsd/);
  await Promise.all(of.map((heard) => heard.stop()));
  for (const each of [sentences, silent, web, odd]) expect(each.got()).toBe("");
  expect(of.map((heard) => heard.text)).toEqual(["", "", "", ""]);
});

test("a gpsd without a receiver says so", async () => {
  const gpsd = await played(VERSION, devices());
  await said(hear(`127.0.0.1:${gpsd.port}`), /wrong: Receiver: gpsd .* has no receiver: plug it in, or tell gpsd its port/);
});

test("a gpsd on this computer is noticed by its greeting, and nothing is written to it; anybody else is not listed", async () => {
  const [gpsd, web] = [await played(VERSION, ""), await played("HTTP/1.1 400 Bad Request\r\n\r\n", "")];
  const clock = createHostClock();
  expect(await hearGpsd(clock, gpsd.port)).toMatchObject({
    path: `gpsd localhost:${gpsd.port}`,
    talks: expect.stringMatching(/^gpsd answers/),
  });
  expect(await hearGpsd(clock, web.port)).toBeNull();
  expect(await hearGpsd(clock, await freeTcpPort())).toBeNull();
  expect(gpsd.got() + web.got()).toBe("");
});

test("gpsd's own words are told from sentences however the stream is cut", () => {
  const stream = Buffer.from(`${VERSION}${RMC}${devices("/dev/a")}${RMC}{"class":"DEVICE"}\r\n${RMC}`, "latin1");
  for (let size = 1; size < 60; size += 1) {
    const words = createGpsdWords();
    let text = "";
    for (let at = 0; at < stream.length; at += size) text += Buffer.from(words.take(stream.subarray(at, at + size))).toString("latin1");
    expect(text).toBe(RMC.repeat(3));
    expect(words.devices).toEqual(["/dev/a"]);
    expect(words.isGreeted).toBe(true);
  }
});
