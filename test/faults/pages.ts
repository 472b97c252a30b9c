/** Pages that stop reading, die, or are reset while the car is recorded. */
import { fileURLToPath } from "node:url";
import type { WebSocket } from "ws";
import { type RunningWeb, runWeb } from "../../src/main/hosts/web/run-web.ts";
import { whyNoPty } from "../support/pty-device.ts";
import { ask, enter, openSocket } from "../support/web-entry.ts";
import { type Fault, pause, type Tried, until } from "./fault.ts";
import { FRAME_BYTES, faultsOf, holesIn, startWiredBus, storedNumbers } from "./wired-bus.ts";

const INGEST = fileURLToPath(new URL("../../src/main/ingest/ingest-process.ts", import.meta.url));

/** The socket under a page's connection. */
const wireOf = (socket: WebSocket) =>
  (socket as unknown as { _socket: { pause(): void; resetAndDestroy(): void; destroy(): void } })._socket;

const ENDS: readonly ((socket: WebSocket) => void)[] = [
  (socket) => wireOf(socket).pause(),
  (socket) => wireOf(socket).resetAndDestroy(),
  (socket) => wireOf(socket).destroy(),
  (socket) => {
    for (let id = 1; id < 500; id += 1) socket.send(JSON.stringify({ id, name: "runs.list", argument: {} }));
    wireOf(socket).pause();
  },
];

async function deadPages(times: number): Promise<Tried> {
  const bus = await startWiredBus();
  let running: RunningWeb | null = null;
  try {
    running = await runWeb({
      coreEntry: INGEST,
      coreArguments: ["--book", bus.bookFile, "--setup", bus.setUpFile],
      screensFolder: bus.folder,
      port: 0,
      open: false,
    });
    const { host } = running;
    await until(() => bus.opened > 0 && bus.sentSinceOpened > 300, "frames flow");
    const pid = host.pid();
    const wrong: string[] = [];
    for (let i = 0; i < times; i += 1) {
      const entered = await enter(host.link());
      const socket = await openSocket(host.port, entered);
      socket.on("error", () => undefined);
      ENDS[i % ENDS.length]?.(socket);
      await pause(100);
      const { status } = await ask(`http://127.0.0.1:${host.port}/`, { Cookie: entered.cookie });
      if (status !== 200) wrong.push(`page ${i + 1}: the next one is answered with ${status}`);
    }
    if (host.pid() !== pid) wrong.push("the host ended");
    const sent = bus.sent;
    await until(() => bus.sent > sent + 1500, "frames flow to the end");
    await running.close();
    const all = storedNumbers(bus.bookFile);
    const lost = holesIn(all[0] ?? []) + Math.max(0, sent - 1 - (all[0]?.at(-1) ?? -1));
    if (all.length !== 1) wrong.push(`${all.length} recordings, expected one`);
    if (lost > 0) wrong.push(`${lost} frames lost`);
    wrong.push(...faultsOf(bus.bookFile));
    return { times, lostBytes: lost * FRAME_BYTES, lostMs: lost, seen: "nothing; the next page opens", wrong };
  } finally {
    await running?.close();
    await bus.end();
  }
}

export const pages: readonly Fault[] = [
  {
    name: "a page that stops reading, dies, is reset, or asks and never reads",
    promise: "the host lives, the recording has no hole",
    whole: 40,
    short: 4,
    alone: false,
    whyNot: whyNoPty,
    run: deadPages,
  },
];
