/**
 * The host of the local network on a real socket: who it takes, what it answers, and what it refuses. It listens on loopback here, with the
 * reach that it has on a network; headers go out as written (RFC 9110, RFC 6455).
 */
import { connect } from "node:net";
import { EventEmitter } from "node:events";
import { afterEach, beforeEach, expect, test, vi } from "vitest";
import type { WebSocket } from "ws";
import type { CoreProcess } from "../../../src/main/hosts/core-process.ts";
import { networkReach, onlyShowingFiles } from "../../../src/main/hosts/network/network-reach.ts";
import { freshToken } from "../../../src/main/hosts/web/entry-keys.ts";
import { watchWay } from "../../../src/main/hosts/web/page-way.ts";
import { startWebHost, type WebHost } from "../../../src/main/hosts/web/web-host.ts";
import { type CoreEvent, REQUESTS, type RequestName } from "../../../src/shared/contract/contract.ts";
import { ONLY_SHOWS, REACH } from "../../../src/shared/contract/reach.ts";
import { ask, askOver, enter, openSocketAt } from "../../support/web-entry.ts";

const SECRET = "a secret of these tests";
const PATIENCE = { timeout: 120_000, interval: 20 };
const HTML = '<!doctype html><html lang="en" data-only-shows="no">';
const files = new Map([["/", { type: "text/html; charset=utf-8", bytes: new TextEncoder().encode(HTML) }]]);
const asked: string[] = [];
const listeners = new Set<(event: CoreEvent) => void>();
const core: CoreProcess = {
  async request(name) {
    asked.push(name);
    return name === "report.html" ? { html: "<!doctype html>", name: "odrel" } : { echo: name };
  },
  onEvent(listener) {
    listeners.add(listener);
    return () => listeners.delete(listener);
  },
  close: async () => undefined,
};

let host: WebHost;
let nowMs = 0;
let pages: number[] = [];
const startAt = (range: string, secret = SECRET) =>
  startWebHost({
    reach: networkReach({ address: "127.0.0.1", name: "lo", range }, () => nowMs),
    core,
    files: onlyShowingFiles(files),
    port: 0,
    secret,
    spent: [],
    onEntered: () => undefined,
    onPages: (count) => pages.push(count),
    report: () => undefined,
  });
beforeEach(async () => {
  asked.length = 0;
  pages = [];
  host = await startAt("127.0.0.1/8");
});
afterEach(() => host.close());

const base = () => `http://127.0.0.1:${host.port}`;
const link = (secret = SECRET) => `${base()}/enter?token=${freshToken({ secret, port: host.port })}`;

/** What a question of that name needs; the rest of it is optional. */
const ARGUMENTS: Readonly<Record<string, unknown>> = {
  "run.show": { run: 1 },
  "run.columns": { run: 1 },
  "tune.run": { run: 1 },
};

test("every request of the contract that only shows is answered, and every other is refused in one sentence before the core hears of it", async () => {
  const socket = await openSocketAt(base(), await enter(link()));
  const shown: string[] = [];
  const names = Object.keys(REQUESTS) as RequestName[];
  for (const [id, name] of names.entries()) {
    // Its columns come as bytes, not as a message.
    if (name === "run.columns") continue;
    const said = await askOver(socket, id, name, ARGUMENTS[name] ?? {});
    if (REACH[name] === "shows") shown.push(name);
    expect(said, name).toEqual(
      REACH[name] === "shows" ? { id, ok: true, answer: expect.anything() } : { id, ok: false, error: ONLY_SHOWS },
    );
  }
  expect(asked).toEqual(shown);
  expect(shown.length).toBeGreaterThan(5);
  expect(names.length - shown.length).toBeGreaterThan(30);
  for (const name of ["__proto__", "constructor", "drive.ARM", ""])
    expect(await askOver(socket, 900, name, {})).toEqual({ id: 900, ok: false, error: ONLY_SHOWS });
  expect(asked).toEqual(shown);
  socket.close();
});

test("a wrong token is refused; who tries ten different ones is not let in for a minute, even with the right one, and nobody else waits", async () => {
  for (let i = 0; i < 10; i += 1) expect((await enter(link(`guess ${i}`))).status).toBe(403);
  expect((await enter(link())).status).toBe(429);
  nowMs = 59_000;
  expect((await enter(link())).status).toBe(429);
  nowMs = 61_000;
  expect((await enter(link())).status).toBe(200);
  nowMs = 0;
});

test("wrong cookies and keys count too, and the same wrong one again is no new guess: a page of an earlier time asks on and does no harm", async () => {
  const entered = await enter(link());
  const old = { cookie: entered.cookie.replace(/=.*/, "=old.old"), key: "old" };
  for (let i = 0; i < 30; i += 1) await expect(openSocketAt(base(), old)).rejects.toThrow("403");
  (await openSocketAt(base(), entered)).close();
  // Two were counted: eight more are too many.
  for (let i = 0; i < 8; i += 1) await expect(openSocketAt(base(), { ...entered, key: `guess-${i}` })).rejects.toThrow("403");
  await expect(openSocketAt(base(), entered)).rejects.toThrow("403");
  expect((await ask(`${base()}/`, { Cookie: entered.cookie })).status).toBe(429);
});

test("a code works once, and a session of the loopback host, or of another time, opens nothing here", async () => {
  const address = link();
  expect((await enter(address)).status).toBe(200);
  const again = await ask(address);
  expect(again.status).toBe(403);
  expect(again.text).toContain("Scan a new code at the laptop");
  const other = await startAt("127.0.0.1/8", "another secret");
  try {
    const elsewhere = await enter(
      `http://127.0.0.1:${other.port}/enter?token=${freshToken({ secret: "another secret", port: other.port })}`,
    );
    const renamed = { ...elsewhere, cookie: elsewhere.cookie.replace(/^gripbook-\d+/, `gripbook-${host.port}`) };
    await expect(openSocketAt(base(), renamed)).rejects.toThrow("403");
    expect((await ask(`${base()}/`, { Cookie: renamed.cookie })).status).toBe(403);
  } finally {
    await other.close();
  }
});

test.each([
  ["a foreign name", "evil.example:PORT", undefined],
  ["another name of this machine", "localhost:PORT", undefined],
  ["another address", "192.168.1.5:PORT", undefined],
  ["another port", "127.0.0.1:1", undefined],
  ["a page of another site", "127.0.0.1:PORT", "http://evil.example"],
  ["the same name on both", "evil.example:PORT", "http://evil.example:PORT"],
])("refused before anything is looked at: %s", async (_name, hostName, origin) => {
  const { cookie, key } = await enter(link());
  const filled = (text: string) => text.replace("PORT", String(host.port));
  const headers = { Cookie: cookie, Host: filled(hostName), ...(origin === undefined ? {} : { Origin: filled(origin) }) };
  expect((await ask(`${base()}/`, headers)).status).toBe(403);
  if (origin !== undefined) await expect(openSocketAt(base(), { cookie, key }, { origin: filled(origin) })).rejects.toThrow("403");
  await expect(openSocketAt(base(), { cookie, key }, { origin: null })).rejects.toThrow("403");
});

/** What a plain connection is told: bytes, or that it is closed. */
function tryConnection(port: number): Promise<string> {
  return new Promise((resolve) => {
    let text = "";
    const socket = connect(port, "127.0.0.1", () => socket.write(`GET / HTTP/1.1\r\nHost: 127.0.0.1:${port}\r\nConnection: close\r\n\r\n`));
    socket.on("data", (more) => {
      text += more.toString("latin1");
    });
    socket.on("error", () => undefined);
    socket.on("close", () => resolve(text));
  });
}

test("who does not come from the address's own network gets no byte", async () => {
  expect(await tryConnection(host.port)).toMatch(/^HTTP\/1\.1 403 /);
  const elsewhere = await startAt("192.168.1.5/24");
  try {
    expect(await tryConnection(elsewhere.port)).toBe("");
  } finally {
    await elsewhere.close();
  }
});

test("one address keeps at most twelve connections, and a closed one makes room", async () => {
  const held = await Promise.all(
    Array.from({ length: 12 }, async () => {
      const socket = connect(host.port, "127.0.0.1");
      await new Promise<void>((resolve) => socket.once("connect", resolve));
      return socket;
    }),
  );
  await vi.waitFor(async () => expect(await tryConnection(host.port)).toBe(""), PATIENCE);
  held[0]?.destroy();
  await vi.waitFor(async () => expect(await tryConnection(host.port)).toMatch(/^HTTP/), PATIENCE);
  for (const socket of held) socket.destroy();
});

test("the page is marked as one that only shows, prints nothing, and shows the report by a pass", async () => {
  const entered = await enter(link());
  const page = await ask(`${base()}/`, { Cookie: entered.cookie });
  expect(page.text).toBe(HTML.replace('"no"', '"yes"'));
  expect(page.headers["content-security-policy"]).toContain("default-src 'none'");
  expect(() => onlyShowingFiles(new Map([["/", { type: "text/html", bytes: new TextEncoder().encode("<HTML>") }]]))).toThrow(
    "run npm run build",
  );
  const socket = await openSocketAt(base(), entered);
  const read = async (path: string) => {
    const { answer: pass } = await askOver(socket, 1, "host.pass", {});
    return ask(`${base()}${path}?pass=${pass}`, { Cookie: entered.cookie });
  };
  expect(await read("/report")).toMatchObject({ status: 200, text: "<!doctype html>" });
  for (const path of ["/report.pdf", "/report.png"]) {
    const { status, text } = await read(path);
    expect([status, text]).toEqual([503, expect.stringContaining(ONLY_SHOWS)]);
  }
  expect((await ask(`${base()}/report`, { Cookie: entered.cookie })).status).toBe(404);
  socket.close();
});

test("the number of screens is told, and closing the host cuts every one", async () => {
  const sockets = [await openSocketAt(base(), await enter(link())), await openSocketAt(base(), await enter(link()))];
  await vi.waitFor(() => expect(pages.at(-1)).toBe(2), PATIENCE);
  const cut = sockets.map((socket) => new Promise<void>((resolve) => socket.once("close", () => resolve())));
  await host.close();
  await Promise.all(cut);
  await vi.waitFor(() => expect(pages.at(-1)).toBe(0), PATIENCE);
  await expect(openSocketAt(base(), { cookie: "", key: "" })).rejects.toThrow("ECONNREFUSED");
  host = await startAt("127.0.0.1/8");
});

const LIVE = { event: "live" } as unknown as CoreEvent;
const tell = (event: CoreEvent) => {
  for (const listener of listeners) listener(event);
};

/** Whether a live event that is told now comes, as a marker after it does. */
async function comes(socket: WebSocket, marker: string): Promise<boolean> {
  let came = false;
  const done = new Promise<void>((resolve) => {
    const listen = (data: Buffer) => {
      const { event } = JSON.parse(data.toString()) as { event: { event: string; key?: string } };
      if (event.event === "live") came = true;
      if (event.key !== marker) return;
      socket.off("message", listen);
      resolve();
    };
    socket.on("message", listen);
  });
  tell(LIVE);
  tell({ event: "notice", key: marker, text: null });
  await done;
  return came;
}

test("a live picture is not sent on a way that is late, so that nobody sees the past as the present; a page that answers gets every one", async () => {
  const [answers, silent] = [
    await openSocketAt(base(), await enter(link())),
    await openSocketAt(base(), await enter(link()), { autoPong: false }),
  ];
  expect(await comes(silent, "first")).toBe(true);
  // Its browser has confirmed nothing: once the way is late, nothing live follows.
  await vi.waitFor(async () => expect(await comes(silent, `at ${performance.now()}`)).toBe(false), PATIENCE);
  expect(await comes(answers, "still")).toBe(true);
  for (const socket of [answers, silent]) socket.close();
});

test("watchWay() is late by the oldest picture that is under way, and takes an answer for all before it (RFC 6455, section 5.5.3)", () => {
  let atMs = 0;
  const sent: string[] = [];
  const socket = Object.assign(new EventEmitter(), { ping: (text: string) => sent.push(text) });
  const way = watchWay(socket as unknown as WebSocket, 250, () => atMs);
  for (atMs = 0; atMs <= 200; atMs += 100) way.sent();
  atMs = 250;
  expect([way.isLate(), way.isLost()]).toEqual([false, false]);
  atMs = 251;
  expect(way.isLate()).toBe(true);
  socket.emit("pong", Buffer.from(sent[1] ?? ""));
  expect(way.isLate()).toBe(false);
  atMs = 15_201;
  expect([way.isLate(), way.isLost()]).toEqual([true, true]);
  socket.emit("pong", Buffer.from(sent[2] ?? ""));
  expect([way.isLate(), way.isLost()]).toEqual([false, false]);
});
