/**
 * No request can end a host. Raw TCP, so that what goes out is what was written; whatever is sent, the host answers the next good request.
 * Request targets after RFC 9112, section 3.2; an upgrade refused and then reset after RFC 9293, section 3.5.3.
 */
import { connect, type Socket } from "node:net";
import fc from "fast-check";
import { afterAll, beforeAll, expect, test, vi } from "vitest";
import type { CoreProcess } from "../../../src/main/hosts/core-process.ts";
import { freshToken } from "../../../src/main/hosts/web/entry-keys.ts";
import { startWebHost, type WebHost } from "../../../src/main/hosts/web/web-host.ts";
import { askOver, enter, openSocket } from "../../support/web-entry.ts";

const core: CoreProcess = {
  request: async () => ({ html: "<!doctype html>", name: "Ödrel 車\n" }),
  onEvent: () => () => undefined,
  close: async () => undefined,
};
const files = new Map([["/", { type: "text/html; charset=utf-8", bytes: new TextEncoder().encode("<!doctype html>") }]]);
const SECRET = "a secret of these tests";
let host: WebHost;
beforeAll(async () => {
  host = await startWebHost({ core, files, port: 0, secret: SECRET, spent: [], onEntered: () => undefined, report: () => undefined });
});
afterAll(() => host.close());

/** Sends bytes as they are; answers what came back until the host closed, or until `enough` of it was there. */
function send(text: string, enough: (answer: string) => boolean = () => false): Promise<string> {
  return new Promise((resolve) => {
    let answer = "";
    const socket = connect(host.port, "127.0.0.1", () => socket.end(text, "latin1"));
    socket.setEncoding("latin1").on("data", (more: string) => {
      answer += more;
      if (enough(answer)) socket.destroy();
    });
    socket.on("error", () => socket.destroy());
    socket.on("close", () => resolve(answer));
  });
}

const ours = () => `127.0.0.1:${host.port}`;
const status = (answer: string) => Number(/^HTTP\/1\.1 (\d{3}) /.exec(answer)?.[1]);

async function isAlive(): Promise<boolean> {
  return status(await send(`GET / HTTP/1.1\r\nHost: ${ours()}\r\nConnection: close\r\n\r\n`)) === 403;
}

test.each(["//", "///", "//@", "http://", "http://[", "/%", "*", "//evil.example:99999/"])(
  "startWebHost() answers a request for %s from anybody, and goes on",
  async (target) => {
    const answer = await send(`GET ${target} HTTP/1.1\r\nHost: ${ours()}\r\nConnection: close\r\n\r\n`);
    expect(status(answer)).toBeGreaterThanOrEqual(400);
    expect(await isAlive()).toBe(true);
  },
);

async function upgradeAndReset(origin: string): Promise<void> {
  const socket: Socket = connect(host.port, "127.0.0.1");
  socket.on("error", () => undefined);
  await new Promise<void>((resolve) => socket.once("connect", resolve));
  const closed = new Promise<void>((resolve) => socket.once("close", () => resolve()));
  socket.write(
    `GET /core HTTP/1.1\r\nHost: ${ours()}\r\nOrigin: ${origin}\r\nConnection: Upgrade\r\nUpgrade: websocket\r\nSec-WebSocket-Version: 13\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\r\n`,
  );
  socket.resetAndDestroy();
  await closed;
}

test("startWebHost() outlives upgrades from a foreign page that are reset before they are answered", async () => {
  const broken: unknown[] = [];
  const note = (error: unknown) => broken.push(error);
  process.on("uncaughtException", note);
  try {
    for (let i = 0; i < 50; i += 1) await upgradeAndReset(i % 2 === 0 ? "http://evil.example" : `http://${ours()}`);
    await vi.waitFor(async () => expect(await isAlive()).toBe(true), 30_000);
    expect(broken).toEqual([]);
  } finally {
    process.off("uncaughtException", note);
  }
});

test("startWebHost() gives a report whose name no header could carry", async () => {
  const entered = await enter(`http://${ours()}/enter?token=${freshToken({ secret: SECRET, port: host.port })}`);
  const socket = await openSocket(host.port, entered);
  const { answer: pass } = await askOver(socket, 1, "host.pass", {});
  socket.close();
  const answer = await send(
    `GET /report?pass=${pass} HTTP/1.1\r\nHost: ${ours()}\r\nCookie: ${entered.cookie}\r\nConnection: close\r\n\r\n`,
  );
  expect(status(answer)).toBe(200);
  expect(await isAlive()).toBe(true);
});

test("startWebHost(): no request ends it (property over method, target, headers and stray bytes)", async () => {
  const broken: unknown[] = [];
  const note = (error: unknown) => broken.push(error);
  process.on("uncaughtException", note);
  process.on("unhandledRejection", note);
  const piece = fc.string({ unit: "binary-ascii", maxLength: 24 });
  const target = fc.oneof(
    fc.webPath().map((path) => `/${path}`),
    fc.webUrl({ withQueryParameters: true, withFragments: true }),
    fc.constantFrom("/", "/enter", "/enter?token=", "/core", "/report", "/report.pdf", "//", "*", "/enter?token=%"),
    piece.map((text) => `/${text}`),
    piece,
  );
  const header = fc.oneof(
    fc.tuple(
      fc.constantFrom(
        "Host",
        "Origin",
        "Cookie",
        "Upgrade",
        "Connection",
        "Content-Length",
        "Transfer-Encoding",
        "Expect",
        "Range",
        "Sec-WebSocket-Key",
        "Sec-WebSocket-Version",
        "Sec-WebSocket-Protocol",
      ),
      fc.oneof(piece, fc.constantFrom("websocket", "Upgrade", "chunked", "100-continue", "13", "-1", "close")),
    ),
    fc.tuple(piece, piece),
  );
  const method = fc.oneof(fc.constantFrom("GET", "HEAD", "POST", "OPTIONS", "CONNECT", "TRACE", "PROPFIND", "get"), piece);
  try {
    await fc.assert(
      fc.asyncProperty(
        method,
        target,
        fc.array(header, { maxLength: 6 }),
        fc.boolean(),
        piece,
        async (verb, path, headers, isOurs, body) => {
          const given = [...(isOurs ? [["Host", ours()] as const, ["Origin", `http://${ours()}`] as const] : []), ...headers];
          await send(
            `${verb} ${path} HTTP/1.1\r\n${given.map(([name, value]) => `${name}: ${value}\r\n`).join("")}\r\n${body}`,
            (answer) => answer.length > 0,
          );
          expect(broken).toEqual([]);
        },
      ),
      { numRuns: 400 },
    );
    expect(await isAlive()).toBe(true);
  } finally {
    process.off("uncaughtException", note);
    process.off("unhandledRejection", note);
  }
});

test("startWebHost(): nothing that comes over an open socket ends it (property over requests and over bytes that are no WebSocket frames)", async () => {
  const broken: unknown[] = [];
  const note = (error: unknown) => broken.push(error);
  process.on("uncaughtException", note);
  process.on("unhandledRejection", note);
  const entered = await enter(`http://${ours()}/enter?token=${freshToken({ secret: SECRET, port: host.port })}`);
  const message = fc.oneof(
    fc.json(),
    fc.string({ unit: "binary" }),
    fc.record({ id: fc.anything(), name: fc.anything(), argument: fc.anything() }).map((asked) => JSON.stringify(asked) ?? ""),
    fc
      .record({ id: fc.nat(), name: fc.constantFrom("run.show", "host.pass", "__proto__", "toString"), argument: fc.jsonValue() })
      .map((asked) => JSON.stringify(asked)),
  );
  try {
    await fc.assert(
      fc.asyncProperty(
        fc.array(message, { minLength: 1, maxLength: 4 }),
        fc.uint8Array({ maxLength: 40 }),
        fc.boolean(),
        async (messages, bytes, isTorn) => {
          const socket = await openSocket(host.port, entered);
          socket.on("error", () => undefined);
          const closed = new Promise<void>((resolve) => socket.once("close", () => resolve()));
          for (const text of messages) if (socket.readyState === socket.OPEN) socket.send(text);
          // What lies under the WebSocket: bytes that are no frames, or a reset.
          const { _socket: under } = socket as unknown as { _socket: Socket | undefined };
          under?.write(bytes);
          if (isTorn) under?.resetAndDestroy();
          else socket.terminate();
          await closed;
          expect(broken).toEqual([]);
        },
      ),
      { numRuns: 200 },
    );
    expect(await isAlive()).toBe(true);
  } finally {
    process.off("uncaughtException", note);
    process.off("unhandledRejection", note);
  }
});
