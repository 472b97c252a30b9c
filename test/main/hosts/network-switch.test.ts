/**
 * The page on the local network turned on and off, with its real process at a private address of this machine: what it opens, what a thief of
 * an old secret has, and what is left when it is off. Signals after POSIX kill(2); what a page does over real sockets.
 */
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { networkInterfaces, tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { afterEach, beforeEach, describe, expect, test, vi } from "vitest";
import type { CoreLink } from "../../../src/main/hosts/core-process.ts";
import { createNetworkSwitch, type NetworkSwitch } from "../../../src/main/hosts/network/network-switch.ts";
import { forkHost } from "../../../src/main/hosts/web/fork-host.ts";
import type { FromHost, ToHost } from "../../../src/main/hosts/web/host-messages.ts";
import { runWeb } from "../../../src/main/hosts/web/run-web.ts";
import type { HostChild } from "../../../src/main/hosts/web/supervise-host.ts";
import type { CoreEvent } from "../../../src/shared/contract/contract.ts";
import type { NetworkAnswers, NetworkView } from "../../../src/shared/contract/network-contract.ts";
import { ONLY_SHOWS } from "../../../src/shared/contract/reach.ts";
import { ownPrivateAddress } from "../../support/private-address.ts";
import { ask, askOver, enter, openSocketAt } from "../../support/web-entry.ts";

const root = fileURLToPath(new URL("../../..", import.meta.url));
const PATIENCE = { timeout: 120_000, interval: 50 };

let folder = "";
const asked: string[] = [];
const listeners = new Set<(event: CoreEvent) => void>();
const core: CoreLink = {
  async request(name) {
    asked.push(name);
    return { echo: name };
  },
  onEvent(listener) {
    listeners.add(listener);
    return () => listeners.delete(listener);
  },
};
let told: CoreEvent[] = [];
let said: string[] = [];
let network: NetworkSwitch;
const children: HostChild[] = [];
const spawned = () => {
  const child = forkHost();
  children.push(child);
  return child;
};

const make = (more: Partial<Parameters<typeof createNetworkSwitch>[0]> = {}) => {
  const made = createNetworkSwitch({ core, spawn: spawned, screensFolder: folder, report: (line) => said.push(line), ...more });
  made.onEvent((event) => told.push(event));
  return made;
};
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-network-"));
  writeFileSync(join(folder, "index.html"), '<!doctype html><html data-only-shows="no">');
  asked.length = 0;
  children.length = 0;
  told = [];
  said = [];
  network = make();
});
afterEach(async () => {
  await network.close();
  rmSync(folder, { recursive: true, force: true });
});

const read = async () => (await network.request("network.read", {})) as NetworkView;
const turnOn = async (address: string) => (await network.request("network.on", { address })) as NetworkAnswers["network.on"];
const baseOf = (url: string) => url.replace(/\/$/, "");
const notices = () => told.flatMap((event) => (event.event === "notice" && event.key === "network" ? [event.text] : []));

test("it is off at first, and is turned on at no address that is not this computer's own private one, with the reason", async () => {
  const eth0 = { address: "203.0.113.7", cidr: "203.0.113.7/24", internal: false, family: "IPv4" as const, mac: "", netmask: "" };
  network = make({ interfaces: () => ({ eth0: [eth0] }) });
  expect(await read()).toEqual({
    addresses: [],
    refused: [{ address: "203.0.113.7", name: "eth0", why: "not a private address: the internet may reach it" }],
    on: null,
  });
  await expect(turnOn("203.0.113.7")).rejects.toThrow("The screens are not shown at 203.0.113.7: not a private address");
  for (const other of ["0.0.0.0", "::", "127.0.0.1", "localhost", "192.168.99.99"])
    await expect(turnOn(other)).rejects.toThrow(`The screens are not shown at ${other}: this computer has no such address now`);
  await expect(network.request("network.code", {})).rejects.toThrow("The page on the local network is off: turn it on first");
  await expect(network.request("network.on", { address: "x".repeat(46) })).rejects.toThrow(/^Request network\.on: address/);
  expect(children).toEqual([]);
  expect(asked).toEqual([]);
});

test("the page's process refuses too what its launcher should never have asked for", async () => {
  for (const address of ["0.0.0.0", "127.0.0.1", "203.0.113.7"]) {
    const child = forkHost();
    const messages: FromHost[] = [];
    child.onMessage((message) => messages.push(message as FromHost));
    const ended = new Promise<string>((resolve) => child.onExit(resolve));
    child.send({ kind: "begin", secret: "s", spent: [], port: 0, screensFolder: folder, network: address }, () => undefined);
    expect(await ended).toBe("code 1");
    expect(messages).toEqual([{ kind: "refused", line: expect.stringContaining(`not shown at ${address}`), isTaken: false }]);
  }
});

/** A page's process that somebody else has taken over: it sends what it likes. */
function taken(): { readonly child: HostChild; readonly sent: ToHost[]; say(message: unknown): void } {
  const sent: ToHost[] = [];
  let listener: (message: unknown) => void = () => undefined;
  let gone: (how: string) => void = () => undefined;
  const child: HostChild = {
    pid: 1,
    send(message, written) {
      sent.push(message);
      written();
    },
    onMessage(given) {
      listener = given;
    },
    onExit(given) {
      gone = given;
    },
    end: () => gone("ended"),
    kill: () => gone("killed"),
  };
  return { child, sent, say: (message) => listener(message) };
}

test("whoever takes over the page's process still only reads: the launcher looks at every request itself", async () => {
  const { child, sent, say } = taken();
  const eth0 = { address: "192.168.1.5", cidr: "192.168.1.5/24", internal: false, family: "IPv4" as const, mac: "", netmask: "" };
  network = make({ spawn: () => child, interfaces: () => ({ eth0: [eth0] }) });
  const on = turnOn("192.168.1.5");
  await vi.waitFor(() => expect(sent).toHaveLength(1), PATIENCE);
  say({ kind: "listening", port: 61734 });
  await on;
  for (const [id, name] of ["drive.arm", "drive.abort", "runs.edit", "network.code", "network.read", "happened.read", "x"].entries())
    say({ kind: "request", id, name, argument: {} });
  say({ kind: "request", id: 90, name: "run.show", argument: { run: 1 } });
  await vi.waitFor(() => expect(sent).toHaveLength(1 + 8), PATIENCE);
  expect(sent.slice(1, 8)).toEqual(Array.from({ length: 7 }, (_, id) => ({ kind: "answer", id, ok: false, error: ONLY_SHOWS })));
  expect(sent[8]).toMatchObject({ id: 90, ok: true });
  expect(asked).toEqual(["run.show"]);
  // It cannot turn itself on elsewhere, nor say that it listens twice.
  say({ kind: "listening", port: 1 });
  expect((await read()).on?.url).toBe("http://192.168.1.5:61734/");
  child.kill();
  expect((await read()).on).toBeNull();
  expect(notices().at(-1)).toBe("The page on the local network is off: its process ended (killed). F1 turns it on again.");
});

describe.skipIf(ownPrivateAddress === null)("at this machine's own private address", () => {
  const address = ownPrivateAddress ?? "";

  test("turned on it shows what is live and refuses to arm; turned off it cuts every connection, and nothing listens there", async () => {
    const { link, view } = await turnOn(address);
    const base = baseOf(view.on?.url ?? "");
    expect(link).toMatch(/\/enter\?token=[\w-]{22}\.[\w-]{22}$/);
    expect(link.startsWith(base)).toBe(true);
    expect(view.on).toMatchObject({ at: { address }, screens: 0, codeUsed: false });
    const entered = await enter(link);
    expect(entered.status).toBe(200);
    const socket = await openSocketAt(base, entered);
    await vi.waitFor(async () => expect((await read()).on).toMatchObject({ screens: 1, codeUsed: true }), PATIENCE);
    expect(await askOver(socket, 1, "runs.list", {})).toMatchObject({ ok: true, answer: { echo: "runs.list" } });
    for (const name of ["drive.arm", "drive.abort", "network.off"])
      expect(await askOver(socket, 2, name, {})).toEqual({ id: 2, ok: false, error: ONLY_SHOWS });
    expect(asked).toEqual(["runs.list"]);
    const live = new Promise<string>((resolve) => socket.once("message", (data: Buffer) => resolve(data.toString())));
    for (const listener of listeners) listener({ event: "notice", key: "can", text: "silent" });
    expect(await live).toContain("silent");
    // The notice that it is on is for the laptop; nothing that is said or told has the secret.
    expect(notices()).toEqual([null, expect.stringContaining(`also shown at ${base}/ to whoever has the code`)]);
    expect(said.join("\n") + JSON.stringify(told)).not.toContain(link.split("token=")[1]);

    const cut = new Promise<void>((resolve) => socket.once("close", () => resolve()));
    expect(await network.request("network.off", {})).toMatchObject({ on: null });
    await cut;
    await expect(ask(`${base}/`)).rejects.toThrow("ECONNREFUSED");
    expect(notices().at(-1)).toBeNull();
    expect(listeners.size).toBeGreaterThan(0);
  });

  test("each time it is turned on every secret is new: an old link, cookie and key open nothing, though the address is the same", async () => {
    const first = await turnOn(address);
    const entered = await enter(first.link);
    const unused = ((await network.request("network.code", {})) as NetworkAnswers["network.code"]).link;
    await network.request("network.off", {});
    const second = await turnOn(address);
    const base = baseOf(second.view.on?.url ?? "");
    expect((await enter(unused.replace(/^http:\/\/.*(?=\/enter)/, base))).status).toBe(403);
    const port = new URL(base).port;
    const renamed = { ...entered, cookie: entered.cookie.replace(/^gripbook-\d+/, `gripbook-${port}`) };
    await expect(openSocketAt(base, renamed)).rejects.toThrow("403");
    expect((await enter(second.link)).status).toBe(200);
    expect((await enter(second.link)).status).toBe(403);
  });

  test("turned on twice at once there is one page, and turning it off leaves none", async () => {
    await Promise.all([turnOn(address), turnOn(address), network.request("network.off", {}), turnOn(address)]);
    expect((await read()).on).not.toBeNull();
    const alive = () => children.filter(({ pid }) => isAlive(pid ?? 0));
    expect(alive()).toHaveLength(1);
    await network.request("network.off", {});
    expect(alive()).toEqual([]);
  });

  test("a page whose process dies stays off and says so, and Gripbook that closes takes it along", async () => {
    await turnOn(address);
    process.kill(children[0]?.pid ?? 0, "SIGKILL");
    await vi.waitFor(async () => expect((await read()).on).toBeNull(), PATIENCE);
    expect(notices().at(-1)).toMatch(/is off: its process ended \(SIGKILL\)\. F1 turns it on again\.$/);
    const { view } = await turnOn(address);
    await network.close();
    await expect(ask(view.on?.url ?? "")).rejects.toThrow("ECONNREFUSED");
    await expect(turnOn(address)).rejects.toThrow("Gripbook is closing");
    expect(children.filter(({ pid }) => isAlive(pid ?? 0))).toEqual([]);
  });

  test("npm start in a browser has the switch, shows the live car there, and ends the page with itself", async () => {
    const running = await runWeb({
      coreEntry: join(root, "test/support/fake-ingest.ts"),
      coreArguments: ["--fake"],
      screensFolder: folder,
      port: 0,
      open: false,
    });
    try {
      const here = `http://127.0.0.1:${running.host.port}`;
      const laptop = await openSocketAt(here, await enter(running.host.link()));
      const { answer } = (await askOver(laptop, 1, "network.on", { address })) as unknown as { answer: NetworkAnswers["network.on"] };
      const base = baseOf(answer.view.on?.url ?? "");
      const phone = await openSocketAt(base, await enter(answer.link));
      const state = (socket: typeof phone) =>
        new Promise<string>((resolve) => {
          const listen = (data: Buffer) => {
            const { event } = JSON.parse(data.toString()) as { event?: { event: string; state: string } };
            if (event?.event !== "live") return;
            socket.off("message", listen);
            resolve(event.state);
          };
          socket.on("message", listen);
        });
      expect(await askOver(phone, 1, "drive.arm", {})).toEqual({ id: 1, ok: false, error: ONLY_SHOWS });
      expect(await state(phone)).toBe("idle");
      expect(await askOver(laptop, 2, "drive.arm", {})).toMatchObject({ ok: true });
      await vi.waitFor(async () => expect(await state(phone)).not.toBe("idle"), PATIENCE);
      const cut = new Promise<void>((resolve) => phone.once("close", () => resolve()));
      await running.close();
      await cut;
      await expect(ask(`${base}/`)).rejects.toThrow("ECONNREFUSED");
    } finally {
      await running.close();
    }
  });
});

/** A container may collect its dead processes late: one that is only left to be collected is dead (proc(5), stat, field 3). */
function isAlive(pid: number): boolean {
  try {
    process.kill(pid, 0);
    if (!readdirSync("/").includes("proc")) return true;
    return readFileSync(`/proc/${pid}/stat`, "utf8").split(") ")[1]?.charAt(0) !== "Z";
  } catch {
    return false;
  }
}

test("this machine's own interfaces are what is offered", async () => {
  const { addresses, refused } = await read();
  const own = Object.values(networkInterfaces()).flatMap((infos = []) =>
    infos.filter(({ internal }) => !internal).map((info) => info.address),
  );
  expect([...addresses, ...refused].map((one) => one.address).sort()).toEqual(own.sort());
});
