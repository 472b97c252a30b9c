/**
 * The Electron program's main module from its start to a shown page, on a stand-in of Electron's modules (names and events after Electron's
 * API reference): how a window is made, that the book is not opened before the page has said that it is shown, and that the window closes
 * when npm start ends.
 */
import type { EventEmitter } from "node:events";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { PassThrough } from "node:stream";
import { afterEach, beforeEach, expect, test, vi } from "vitest";
import { ownPrivateAddress } from "../../support/private-address.ts";
import { SHOWN_LINE } from "../../../src/main/hosts/electron/run-shell.ts";

const PATIENCE = { timeout: 120_000, interval: 10 };

const stand = vi.hoisted(() => {
  const handlers = new Map<string, (event: unknown, ...given: unknown[]) => unknown>();
  return {
    handlers,
    windows: [] as unknown[],
    options: [] as Record<string, unknown>[],
    loaded: [] as string[],
    forks: [] as string[][],
    begun: [] as { kind?: string; network?: string }[],
    quits: 0,
  };
});

vi.mock("electron", async () => {
  const { EventEmitter: Emitter } = await import("node:events");
  class BrowserWindow extends Emitter {
    webContents = Object.assign(new Emitter(), {
      setWindowOpenHandler: () => undefined,
      mainFrame: { url: "app://gripbook/" },
      send: () => undefined,
    });
    constructor(options: Record<string, unknown>) {
      super();
      stand.options.push(options);
      stand.windows.push(this);
    }
    loadURL(address: string) {
      stand.loaded.push(address);
      return Promise.resolve();
    }
    isDestroyed() {
      return false;
    }
  }
  const app = Object.assign(new Emitter(), {
    isPackaged: false,
    whenReady: () => Promise.resolve(),
    enableSandbox: () => undefined,
    quit: () => (stand.quits += 1),
    exit: () => undefined,
  });
  const session = {
    setPermissionRequestHandler: () => undefined,
    setPermissionCheckHandler: () => undefined,
    setDevicePermissionHandler: () => undefined,
  };
  return {
    app,
    BrowserWindow,
    ipcMain: { handle: (name: string, handler: () => unknown) => stand.handlers.set(name, handler) },
    powerSaveBlocker: { start: () => 1, stop: () => true },
    protocol: { registerSchemesAsPrivileged: () => undefined, handle: () => undefined },
    session: { defaultSession: session, fromPartition: () => session },
    utilityProcess: {
      fork(entry: string, argv: string[]) {
        stand.forks.push([entry, ...argv]);
        const child = Object.assign(new Emitter(), { stderr: null, kill: () => child.emit("exit", 0), postMessage });
        function postMessage(message: { kind?: string; network?: string }) {
          if (message.kind === "close") child.emit("exit", 0);
          if (message.kind !== "begin") return;
          stand.begun.push(message);
          setImmediate(() => child.emit("message", { kind: "listening", port: 61734 }));
        }
        return child;
      },
    },
  };
});

let folder = "";
let printed = "";
const input = new PassThrough();
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-shell-"));
  writeFileSync(join(folder, "index.html"), "<!doctype html>");
  vi.spyOn(process, "stdin", "get").mockReturnValue(input as unknown as typeof process.stdin);
  vi.spyOn(process.stdout, "write").mockImplementation((text) => {
    printed += String(text);
    return true;
  });
});
afterEach(() => {
  vi.restoreAllMocks();
  rmSync(folder, { recursive: true, force: true });
});

test("the shell shows its own page sandboxed, starts measuring once the page has drawn, and goes with npm start", async () => {
  const argv = process.argv;
  process.argv = ["electron", "main.mjs", "--ends-with-input", "--screens", folder, "--", "--book", "day.gripbook", "--simulated"];
  try {
    await import("../../../src/main/hosts/electron/main.ts");
    await vi.waitFor(() => expect(stand.handlers.has("gripbook:shown")).toBe(true), PATIENCE);
  } finally {
    process.argv = argv;
  }
  expect(stand.loaded).toEqual(["app://gripbook/"]);
  expect(stand.options[0]).toMatchObject({
    show: false,
    webPreferences: { sandbox: true, contextIsolation: true, nodeIntegration: false },
  });
  expect(stand.forks).toEqual([]);
  expect(printed).toBe("");

  const shown = stand.handlers.get("gripbook:shown");
  const page = stand.windows[0] as { webContents: EventEmitter & { mainFrame: { url: string } } };
  expect(() => shown?.({ senderFrame: { url: "app://gripbook/report" } })).toThrow("Refused");
  expect(printed).toBe("");
  shown?.({ senderFrame: page.webContents.mainFrame });
  expect(printed).toBe(`${SHOWN_LINE}\n`);
  await vi.waitFor(() => expect(stand.forks).toHaveLength(1), PATIENCE);
  expect(stand.forks[0]?.slice(1)).toEqual(["--book", "day.gripbook", "--simulated"]);

  // The page on the local network: off at first, then a process of its own with nothing but its address and secret.
  const ask = stand.handlers.get("gripbook:request") as (event: unknown, name: string, argument: unknown) => Promise<unknown>;
  const own = { senderFrame: page.webContents.mainFrame };
  expect(await ask(own, "network.read", {})).toMatchObject({ ok: true, answer: { on: null } });
  expect(await ask(own, "network.on", { address: "0.0.0.0" })).toMatchObject({
    ok: false,
    error: expect.stringMatching(/no such address/),
  });
  expect(stand.forks).toHaveLength(1);
  if (ownPrivateAddress !== null) {
    expect(await ask(own, "network.on", { address: ownPrivateAddress })).toMatchObject({
      ok: true,
      answer: { view: { on: { screens: 0 } } },
    });
    expect(stand.forks[1]).toEqual([expect.stringMatching(/network\.mjs$/)]);
    expect(stand.begun).toEqual([expect.objectContaining({ network: ownPrivateAddress, screensFolder: folder, port: null, spent: [] })]);
    expect(await ask(own, "network.off", {})).toMatchObject({ ok: true, answer: { on: null } });
  }

  expect(stand.quits).toBe(0);
  input.end();
  await vi.waitFor(() => expect(stand.quits).toBe(1), PATIENCE);
});
