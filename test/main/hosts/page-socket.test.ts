/**
 * A page that asks and does not read, over a real socket (TCP flow control, RFC 9293, section 3.8.6): what waits for it in the host stays
 * bounded, and nothing is lost.
 */
import { afterAll, beforeAll, expect, test, vi } from "vitest";
import type { CoreProcess } from "../../../src/main/hosts/core-process.ts";
import { freshToken } from "../../../src/main/hosts/web/entry-keys.ts";
import { startWebHost, type WebHost } from "../../../src/main/hosts/web/web-host.ts";
import type { CoreEvent } from "../../../src/shared/contract/contract.ts";
import { askOver, enter, openSocket } from "../../support/web-entry.ts";

const ANSWER_BYTES = 1024 * 1024;
const ASKED = 200;
/** In the host at most 16; the rest is what the system's own buffers hold of one loopback socket, some MB. */
const MOST_ANSWERED = 100;

const SECRET = "a secret of these tests";
const PATIENCE = { timeout: 120_000, interval: 20 };
let asked = 0;
const listeners = new Set<(event: CoreEvent) => void>();
const core: CoreProcess = {
  async request(name) {
    if (name === "runs.list") return [];
    asked += 1;
    return "x".repeat(ANSWER_BYTES);
  },
  onEvent(listener) {
    listeners.add(listener);
    return () => listeners.delete(listener);
  },
  close: async () => undefined,
};
const files = new Map([["/", { type: "text/html; charset=utf-8", bytes: new TextEncoder().encode("<!doctype html>") }]]);
let host: WebHost;
beforeAll(async () => {
  host = await startWebHost({ core, files, port: 0, secret: SECRET, spent: [], onEntered: () => undefined, report: () => undefined });
});
afterAll(() => host.close());

const page = async () =>
  openSocket(host.port, await enter(`http://127.0.0.1:${host.port}/enter?token=${freshToken({ secret: SECRET, port: host.port })}`));

test("a page that reads no answers is asked no more of until it reads, and then gets every one; another page is served meanwhile", async () => {
  const [stalled, other] = [await page(), await page()];
  stalled.pause();
  for (let id = 0; id < ASKED; id += 1) stalled.send(JSON.stringify({ id, name: "run.show", argument: { run: 1 } }));
  await vi.waitFor(() => expect(asked).toBeGreaterThanOrEqual(16), PATIENCE);
  // Each of these comes and goes after all that the host could do for the first page.
  let before = -1;
  for (let quiet = 0, id = 0; quiet < 20; id += 1) {
    expect(await askOver(other, id, "runs.list", {})).toMatchObject({ ok: true });
    quiet = asked === before ? quiet + 1 : 0;
    before = asked;
  }
  expect(asked).toBeLessThan(MOST_ANSWERED);
  const got = new Set<number>();
  stalled.on("message", (data: Buffer) => got.add((JSON.parse(data.toString()) as { id: number }).id));
  stalled.resume();
  await vi.waitFor(() => expect(got.size).toBe(ASKED), PATIENCE);
  stalled.close();
  other.close();
});

test("a page that goes in the middle of its answers takes what waited for it along", async () => {
  const gone = await page();
  const [listening] = [listeners.size];
  gone.pause();
  asked = 0;
  for (let id = 0; id < ASKED; id += 1) gone.send(JSON.stringify({ id, name: "run.show", argument: { run: 1 } }));
  await vi.waitFor(() => expect(asked).toBeGreaterThanOrEqual(16), PATIENCE);
  gone.terminate();
  await vi.waitFor(() => expect(listeners.size).toBe(listening - 1), PATIENCE);
  const other = await page();
  expect(await askOver(other, 1, "runs.list", {})).toMatchObject({ ok: true });
  expect(asked).toBeLessThan(MOST_ANSWERED);
  other.close();
});
