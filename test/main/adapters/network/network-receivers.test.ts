/**
 * Receivers over TCP and UDP, sent by socat (Debian) and by hostile senders of the test's own. What is said and what is taken; nothing is
 * ever written to one. The capture is gpsd's own (test/fixtures/gpsd).
 */
import { readFileSync } from "node:fs";
import { createSocket } from "node:dgram";
import { once } from "node:events";
import { type AddressInfo, createServer, type Socket } from "node:net";
import { afterEach, describe, expect, test } from "vitest";
import { createNmeaScanner } from "../../../../src/shared/receiver/nmea-sentence.ts";
import { hearSources, type HeardSource } from "../../../support/heard-source.ts";
import { freeTcpPort, freeUdpPort, type NetSender, startNetSender } from "../../../support/net-sender.ts";
import { nmeaSentence } from "../../../support/nmea.ts";
import { whyNoPty } from "../../../support/pty-device.ts";

if (whyNoPty !== null) console.warn(`skipped: receivers over TCP and UDP: ${whyNoPty}`);
const socatTest = test.skipIf(whyNoPty !== null);

const CAPTURE = readFileSync(new URL("../../../fixtures/gpsd/nmea-rtk.log", import.meta.url)).subarray(0, 20_000);
const RMC = nmeaSentence("GPRMC,092725.00,A,4717.11437,N,00833.91522,E,0.004,77.52,091202,,,A");

const opened: { stop(): Promise<unknown> }[] = [];
afterEach(async () => {
  await Promise.all(opened.splice(0).map((each) => each.stop()));
});
const kept = <T extends { stop(): Promise<unknown> }>(each: T): T => {
  opened.push(each);
  return each;
};
const hear = (gnss: unknown): HeardSource => kept(hearSources({ gnss }));
const sender = async (to: string): Promise<NetSender> => kept(await startNetSender(to));
const until = (met: () => boolean) => expect.poll(met, { interval: 10, timeout: 20_000 }).toBe(true);
const said = (heard: HeardSource, words: RegExp) => until(() => heard.words.some((each) => words.test(each)));

function sentencesIn(text: string): number {
  const scanner = createNmeaScanner();
  scanner.push(Buffer.from(text, "latin1"), 0, () => undefined);
  return scanner.counts.sentences;
}

/** A server that does as it likes with whoever connects. */
async function server(serve: (socket: Socket) => void): Promise<{ port: number; got: Buffer[]; stop(): Promise<unknown> }> {
  const got: Buffer[] = [];
  const sockets = new Set<Socket>();
  const made = createServer((socket) => {
    sockets.add(socket);
    socket.on("error", () => undefined);
    socket.on("data", (bytes) => got.push(bytes));
    serve(socket);
  }).listen(0, "127.0.0.1");
  await once(made, "listening");
  return kept({
    port: (made.address() as AddressInfo).port,
    got,
    async stop() {
      for (const socket of sockets) socket.destroy();
      const closed = once(made, "close");
      made.close();
      await closed;
    },
  });
}

describe("TCP", () => {
  socatTest("every byte that a server sends is heard, and not one is written to it", async () => {
    const port = await freeTcpPort();
    const from = await sender(`TCP-LISTEN:${port},reuseaddr`);
    const heard = hear({ tcp: `localhost:${port}` });
    await said(heard, /waiting: Receiver: TCP localhost:\d+ is connected, no bytes yet/);
    from.write(CAPTURE);
    await until(() => heard.text.length === CAPTURE.length);
    expect(heard.text).toBe(CAPTURE.toString("latin1"));
    await heard.stop();
    expect(from.written).toHaveLength(0);
  });

  socatTest("a server that goes away and comes back: said, connected again by itself, and the hole is named", async () => {
    const port = await freeTcpPort();
    const first = await sender(`TCP-LISTEN:${port},reuseaddr`);
    const heard = hear({ tcp: `127.0.0.1:${port}` });
    await said(heard, /connected/);
    first.write(RMC);
    await until(() => heard.text === RMC);
    await first.stop();
    await said(heard, /absent: Receiver: TCP 127\.0\.0\.1:\d+ is gone \(.*\): it is opened again by itself/);
    await said(heard, /absent: Receiver: nothing answers at TCP 127\.0\.0\.1:\d+: start what sends there, or correct sources\.gnss\.tcp/);
    const second = await sender(`TCP-LISTEN:${port},reuseaddr`);
    await until(() => {
      second.write(RMC);
      return heard.text.length > RMC.length;
    });
    expect(heard.gaps.map(({ over }) => over)).toEqual([false, true]);
    expect(heard.gaps[0]?.cause).toBe("the other side closed the connection");
  });

  test("garbage, a line without an end and a slow drip are recorded as they come, and called what they are", async () => {
    const garbage = await server((socket) => socket.write(Buffer.alloc(5000, "<html>")));
    const endless = await server((socket) => socket.write(`$${"A".repeat(300_000)}`));
    const drip = await server((socket) => {
      let at = 0;
      const dripping = setInterval(() => socket.write(RMC[at++ % RMC.length] ?? ""), 5);
      socket.once("close", () => clearInterval(dripping));
    });
    const of = [garbage, endless, drip].map(({ port }) => hear({ tcp: `127.0.0.1:${port}` }));
    for (const heard of of.slice(0, 2)) await said(heard, /wrong: Receiver on TCP .*no valid NMEA sentence among them/);
    await until(() => sentencesIn(of[2]?.text ?? "") > 0);
    expect(of[2]?.words.filter((words) => words.startsWith("wrong"))).toEqual([]);
    await Promise.all(of.map((heard) => heard.stop()));
    for (const { got } of [garbage, endless, drip]) expect(got).toEqual([]);
  });

  test("a sender that floods is refused, and what it sends is not kept", async () => {
    const flood = Buffer.from(RMC.repeat(2000), "latin1");
    const { port, got } = await server(function more(socket) {
      const send = () => {
        while (socket.writable && socket.write(flood));
      };
      socket.on("drain", send);
      send();
    });
    const heard = hear({ tcp: `127.0.0.1:${port}` });
    await said(heard, /wrong: Receiver: TCP .* sends over 512 kB a second, as no receiver does: correct sources\.gnss\.tcp/);
    expect(heard.text.length).toBeLessThan(600_000);
    expect(got).toEqual([]);
  });

  test("a name that nobody knows is said, and stopping does not wait for the network", async () => {
    const heard = hear({ tcp: "no-such-receiver.invalid:10110" });
    await said(heard, /absent: Receiver: .*(this name is not known here|no answer from)/);
    // TEST-NET-1 (RFC 5737): no answer ever comes.
    await hear({ tcp: "192.0.2.1:10110" }).stop();
  });
});

describe("UDP", () => {
  socatTest("datagrams of one sender are heard as they come", async () => {
    const port = await freeUdpPort();
    const heard = hear({ udp: port });
    await said(heard, /waiting: Receiver: UDP port \d+ is open, no bytes yet/);
    const from = await sender(`UDP-SENDTO:127.0.0.1:${port}`);
    from.write(RMC);
    await until(() => heard.text === RMC);
    from.write(RMC.repeat(3));
    await until(() => heard.text === RMC.repeat(4));
    await said(heard, /^fresh: $/);
    expect(from.written).toHaveLength(0);
  });

  async function from(address: string): Promise<{ send(text: string, port: number): void; stop(): Promise<void> }> {
    const socket = createSocket("udp4").bind(0, address);
    await once(socket, "listening");
    return kept({
      send: (text: string, port: number) => socket.send(text, port, "127.0.0.1"),
      stop: () => new Promise<void>((done) => socket.close(() => done())),
    });
  }

  test("another sender is left out and named while the first is heard; a sender named in the set-up is the only one", async () => {
    const [first, other] = [await from("127.0.0.1"), await from("127.0.0.2")];
    const [port, only] = [await freeUdpPort(), await freeUdpPort()];
    const heard = hear({ udp: port });
    const strict = hear({ udp: only, from: "127.0.0.2" });
    await Promise.all([said(heard, /is open/), said(strict, /is open/)]);
    first.send(RMC, port);
    await until(() => heard.text === RMC);
    const second = nmeaSentence("GPVTG,1.0,T,,M,2.0,N,3.7,K,A");
    other.send(second, port);
    first.send("not a sentence\r\n", port);
    first.send(RMC, port);
    await until(() => heard.text === `${RMC}not a sentence\r\n${RMC}`);
    await said(heard, /fresh: UDP port \d+ also gets data from 127\.0\.0\.2, which is not taken: 127\.0\.0\.1 is heard/);
    await until(() => {
      first.send(RMC, only);
      return strict.words.some((words) => /wrong: Receiver: data come to UDP port \d+ from 127\.0\.0\.1.*sources\.gnss\.from/.test(words));
    });
    expect(strict.text).toBe("");
  });

  test("a sender of anything but sentences is not taken, and it is said", async () => {
    const port = await freeUdpPort();
    const heard = hear({ udp: port });
    await said(heard, /is open/);
    const first = await from("127.0.0.1");
    await until(() => {
      first.send('{"speed": 3}\n', port);
      return heard.words.some((words) =>
        /wrong: Receiver: data come to UDP port \d+ from 127\.0\.0\.1, and none is taken: no valid NMEA/.test(words),
      );
    });
    expect(heard.text).toBe("");
  });

  test("a datagram without a line end ends its sentence all the same", async () => {
    const port = await freeUdpPort();
    const heard = hear({ udp: port });
    await said(heard, /is open/);
    const first = await from("127.0.0.1");
    first.send(RMC, port);
    for (let i = 0; i < 3; i += 1) first.send(RMC.trimEnd(), port);
    await until(() => sentencesIn(heard.text) === 3);
  });

  test("a port that another program has is said", async () => {
    const socket = createSocket("udp4").bind(0);
    await once(socket, "listening");
    kept({ stop: () => new Promise<void>((done) => socket.close(() => done())) });
    const heard = hear({ udp: socket.address().port });
    await said(heard, /absent: Receiver: UDP port \d+ is held by another program/);
  });
});
