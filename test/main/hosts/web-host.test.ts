/** The loopback host on a real socket, spoken to in raw HTTP so that hostile headers go out as written. Header names after RFC 9110, cookies after RFC 6265. */
import { connect } from "node:net";
import { afterAll, beforeAll, expect, test } from "vitest";
import type { WebSocket } from "ws";
import type { CoreEvent } from "../../../src/shared/contract/contract.ts";
import { decodeColumns } from "../../../src/shared/contract/columns.ts";
import type { CoreProcess } from "../../../src/main/hosts/core-process.ts";
import { freshToken } from "../../../src/main/hosts/web/entry-keys.ts";
import { USUAL_PORT } from "../../../src/main/hosts/web/host-reach.ts";
import { startWebHost, type WebHost } from "../../../src/main/hosts/web/web-host.ts";
import { ask, askOver, enter, openSocket } from "../../support/web-entry.ts";

const asked: { name: string; argument: unknown }[] = [];
const listeners = new Set<(event: CoreEvent) => void>();
const columns = { names: ["timeS", "slip"], units: ["s", "km/h"], columns: [Float32Array.of(0, 0.01), Float32Array.of(Number.NaN, 4.5)] };
const core: CoreProcess = {
  async request(name, argument) {
    asked.push({ name, argument });
    if (name === "report.html") return { html: "<!doctype html>", name: "odrel" };
    if (name === "runs.list") throw new Error("The book is closed");
    return name === "run.columns" ? columns : { echo: name };
  },
  onEvent(listener) {
    listeners.add(listener);
    return () => listeners.delete(listener);
  },
  close: async () => undefined,
};
const files = new Map([["/", { type: "text/html; charset=utf-8", bytes: new TextEncoder().encode("<!doctype html>") }]]);
let host: WebHost;
const SECRET = "a secret of these tests";
const spentLinks: string[] = [];
const common = { core, files, secret: SECRET, spent: [], report: () => undefined };
const link = () => `http://127.0.0.1:${host.port}/enter?token=${freshToken({ secret: SECRET, port: host.port })}`;

beforeAll(async () => {
  host = await startWebHost({ ...common, port: 0, onEntered: (nonce) => spentLinks.push(nonce) });
});
afterAll(() => host.close());

/** One raw request; answers everything the server said until it closed. */
function raw(lines: readonly string[]): Promise<string> {
  return new Promise((resolve, reject) => {
    const socket = connect(host.port, "127.0.0.1", () => socket.write(`${lines.join("\r\n")}\r\n\r\n`));
    let text = "";
    socket.on("data", (chunk) => {
      text += chunk.toString("latin1");
    });
    socket.on("close", () => resolve(text));
    socket.on("error", reject);
  });
}

const get = (path: string, headers: readonly string[] = [], hostName = `127.0.0.1:${host.port}`) =>
  raw([`GET ${path} HTTP/1.1`, `Host: ${hostName}`, "Connection: close", ...headers]);

test("startWebHost() takes the usual port, another one where that is taken, and refuses a taken port that was asked for in one line", async (context) => {
  const start = (port: number | null) => startWebHost({ ...common, port, onEntered: () => undefined });
  const first = await start(null);
  const second = await start(null);
  try {
    expect(second.port).not.toBe(USUAL_PORT);
    await expect(start(first.port)).rejects.toThrow(`Port ${first.port} on 127.0.0.1 cannot be opened; give another with --port`);
    if (first.port !== USUAL_PORT) context.skip(`another program of this machine holds port ${USUAL_PORT}`);
  } finally {
    await first.close();
    await second.close();
  }
});

test("startWebHost() trades a one-time link for an HttpOnly, SameSite=Strict cookie and a key that stands behind #, and the link works once", async () => {
  const address = link();
  const token = address.split("token=")[1] ?? "";
  // 128 bits that name it, 128 that prove it.
  expect(token.split(".").map((part) => Buffer.from(part, "base64url").length)).toEqual([16, 16]);
  const path = address.replace(/^http:\/\/[^/]+/, "");
  expect(await raw([`HEAD ${path} HTTP/1.1`, `Host: 127.0.0.1:${host.port}`, "Connection: close"])).toMatch(/^HTTP\/1\.1 403 /);
  const first = await get(path);
  expect(first).toMatch(/^HTTP\/1\.1 200 /);
  expect(first).toMatch(/Set-Cookie: gripbook-\d+=[\w-]{22}\.[\w-]{22}; HttpOnly; SameSite=Strict; Path=\//);
  expect(first).toMatch(/content="0;url=\/#key=[\w-]{22}"/);
  expect(first).not.toContain(token);
  expect(await get(path)).toMatch(/^HTTP\/1\.1 403 /);
  expect(spentLinks.at(-1)).toBe(token.split(".")[0]);
});

test("startWebHost() serves nothing without the cookie, and everything with its policy when it is there", async () => {
  expect(await get("/")).toMatch(/^HTTP\/1\.1 403 /);
  const { cookie } = await enter(link());
  const answer = await get("/", [`Cookie: ${cookie}`]);
  expect(answer).toMatch(/^HTTP\/1\.1 200 /);
  expect(answer).toContain("Content-Security-Policy: default-src 'none'; script-src 'self';");
  expect(answer).toContain("X-Content-Type-Options: nosniff");
  expect(answer).not.toContain("Access-Control-Allow");
  expect(await get("/../package.json", [`Cookie: ${cookie}`])).toMatch(/^HTTP\/1\.1 404 /);
});

test("a stolen cookie opens neither the socket nor a report, and neither does a key; a pass works once, for its own session", async () => {
  const [owner, other] = [await enter(link()), await enter(link())];
  for (const half of [
    { ...owner, key: "" },
    { ...owner, cookie: "" },
    { ...owner, key: other.key },
    { ...owner, cookie: other.cookie },
  ])
    await expect(openSocket(host.port, half)).rejects.toThrow("403");
  for (const path of ["/report", "/report.pdf", "/report.png", "/report?pass=", `/report?pass=${owner.key}`])
    expect((await ask(`http://127.0.0.1:${host.port}${path}`, { Cookie: owner.cookie })).status).toBe(404);
  const socket = await openSocket(host.port, owner);
  const { answer: pass } = await askOver(socket, 1, "host.pass", {});
  const report = (cookie: string) => ask(`http://127.0.0.1:${host.port}/report?pass=${pass}`, { Cookie: cookie });
  expect((await report(other.cookie)).status).toBe(404);
  expect((await report(owner.cookie)).status).toBe(200);
  expect((await report(owner.cookie)).status).toBe(404);
  socket.close();
});

test("a session of one port opens nothing on another, and a host started again with the same secret knows its pages and its spent links", async () => {
  const address = link();
  const entered = await enter(address);
  const elsewhere = await startWebHost({ ...common, port: 0, onEntered: () => undefined });
  try {
    const renamed = { ...entered, cookie: entered.cookie.replace(/^gripbook-\d+/, `gripbook-${elsewhere.port}`) };
    await expect(openSocket(elsewhere.port, renamed)).rejects.toThrow("403");
  } finally {
    await elsewhere.close();
  }
  const { port } = host;
  await host.close();
  host = await startWebHost({ ...common, port, spent: spentLinks, onEntered: (nonce) => spentLinks.push(nonce) });
  (await openSocket(port, entered)).close();
  expect((await enter(address)).status).toBe(403);
});

test.each([
  ["evil Host", ["Host: evil.example"]],
  ["trailing dot", ["Host: localhost.:{port}"]],
  ["port mismatch", ["Host: 127.0.0.1:1"]],
  ["evil Origin", ["Host: 127.0.0.1:{port}", "Origin: http://evil.example"]],
  ["equal and evil Host and Origin", ["Host: evil.example", "Origin: http://evil.example"]],
  ["another IPv6 address", ["Host: [::2]:{port}"]],
])("startWebHost() answers 403 before routing: %s", async (_name, headers) => {
  const { cookie } = await enter(link());
  const filled = headers.map((header) => header.replace("{port}", String(host.port)));
  expect(await raw(["GET / HTTP/1.1", ...filled, `Cookie: ${cookie}`, "Connection: close"])).toMatch(/^HTTP\/1\.1 403 /);
});

test("startWebHost() answers a request without any Host with an error, in HTTP/1.1 and 1.0", async () => {
  const { cookie } = await enter(link());
  expect(await raw(["GET / HTTP/1.1", `Cookie: ${cookie}`, "Connection: close"])).toMatch(/^HTTP\/1\.1 400 /);
  expect(await raw(["GET / HTTP/1.0", `Cookie: ${cookie}`])).toMatch(/^HTTP\/1\.1 403 /);
});

test("startWebHost() refuses every method but GET and HEAD", async () => {
  expect(await raw(["POST / HTTP/1.1", `Host: 127.0.0.1:${host.port}`, "Content-Length: 0", "Connection: close"])).toMatch(
    /^HTTP\/1\.1 405 /,
  );
});

const ours = () => `http://127.0.0.1:${host.port}`;
const next = (socket: WebSocket) =>
  new Promise<{ data: Buffer; binary: boolean }>((resolve) =>
    socket.once("message", (data, binary) => resolve({ data: data as Buffer, binary })),
  );

test("startWebHost() opens a socket only to our own page with a session", async () => {
  const entered = await enter(link());
  for (const [held, origin] of [
    [{ cookie: "", key: "" }, ours()],
    [entered, null],
    [entered, "http://evil.example"],
    [{ ...entered, cookie: `${entered.cookie}x` }, ours()],
  ] as const) {
    await expect(openSocket(host.port, held, origin)).rejects.toThrow("403");
  }
  await expect(openSocket(host.port, entered, ours(), "/other")).rejects.toThrow("403");
  (await openSocket(host.port, entered)).close();
});

test("servePage() passes contract requests, refuses others in words, and sends columns as one binary frame", async () => {
  const socket = await openSocket(host.port, await enter(link()));
  const askNext = async (id: number, name: string, argument: unknown) => {
    socket.send(JSON.stringify({ id, name, argument }));
    return next(socket);
  };
  const said = async (id: number, name: string, argument: unknown) => JSON.parse((await askNext(id, name, argument)).data.toString());
  expect(await said(1, "run.show", { run: 3 })).toEqual({ id: 1, ok: true, answer: { echo: "run.show" } });
  expect(await said(2, "runs.list", {})).toEqual({ id: 2, ok: false, error: "The book is closed" });
  const before = asked.length;
  expect(await said(3, "__proto__", {})).toMatchObject({ id: 3, ok: false, error: 'Unknown request "__proto__"' });
  expect(await said(4, "run.show", { run: "3" })).toMatchObject({ ok: false, error: expect.stringMatching(/^Request run\.show: run: /) });
  expect(await said(5, "run.show", { run: 3, extra: 1 })).toMatchObject({ ok: false, error: expect.stringContaining("extra") });
  expect(asked).toHaveLength(before);
  const frame = await askNext(77, "run.columns", { run: 1 });
  expect(frame.binary).toBe(true);
  expect(frame.data.readUInt32LE(0)).toBe(77);
  expect(decodeColumns(new Uint8Array(frame.data.subarray(4)))).toEqual(columns);
  const event = next(socket);
  for (const listener of listeners) listener({ event: "notice", key: "can", text: "silent" });
  expect(JSON.parse((await event).data.toString())).toEqual({ event: { event: "notice", key: "can", text: "silent" } });
  socket.close();
});

test.each(["not json", "[]", '{"id":-1,"name":"book.open"}', '{"id":1}'])(
  "servePage() closes on a malformed message %s with a protocol error",
  async (text) => {
    const socket = await openSocket(host.port, await enter(link()));
    const closed = new Promise<number>((resolve) => socket.once("close", resolve));
    socket.send(text);
    // RFC 6455, 7.4.1: 1002 is a protocol error.
    expect(await closed).toBe(1002);
  },
);
