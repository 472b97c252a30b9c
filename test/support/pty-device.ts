/**
 * A serial device of the tests: one end is a real PTY, made by socat, or by uart.py where the port's baud matters; the other this process.
 * Without socat `whyNoPty` says so, without Python `whyNoUart`.
 */
import { type ChildProcess, spawn, spawnSync } from "node:child_process";
import { existsSync, mkdtempSync, rmSync } from "node:fs";
import { createServer, type Server, type Socket } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";

/** Debian packages socat and python3; names, not files, so that PATH finds them. */
const SOCAT = "socat";
const PYTHON = "python3";
const UART = fileURLToPath(new URL("uart.py", import.meta.url));

/** Null where PTYs can be made; else the reason for skipping, to be printed. */
export const whyNoPty: string | null =
  spawnSync(SOCAT, ["-V"]).error === undefined
    ? null
    : "socat is not installed (apt-get install socat): no PTY, so no serial port to test with";

/** Null where a UART can be had as well. */
export const whyNoUart: string | null =
  whyNoPty ??
  (spawnSync(PYTHON, ["-c", "import pty"]).status === 0
    ? null
    : "python3 is not installed (apt-get install python3): no UART to test with");

export interface PtyDevice {
  /** What a set-up names as the port. */
  readonly path: string;
  plug(): Promise<void>;
  unplug(): Promise<void>;
  write(bytes: Uint8Array | string): void;
  /** Bytes that the product wrote to the device, all so far. */
  readonly written: Buffer;
  onWritten(listener: (bytes: Buffer) => void): void;
  dispose(): Promise<void>;
}

/** `uartBaud`: what the device sends arrives whole at this baud of the port only, and is lost while nobody has the port open. */
export async function createPtyDevice({ uartBaud = null }: { uartBaud?: number | null } = {}): Promise<PtyDevice> {
  const folder = mkdtempSync(join(tmpdir(), "gripbook-pty-"));
  const path = join(folder, "port");
  const door = join(folder, "door");
  const listeners = new Set<(bytes: Buffer) => void>();
  let written = Buffer.alloc(0);
  let socket: Socket | null = null;
  let child: ChildProcess | null = null;
  const server: Server = createServer((incoming) => {
    socket = incoming;
    incoming.on("error", () => undefined);
    incoming.on("data", (bytes: Buffer) => {
      written = Buffer.concat([written, bytes]);
      for (const listener of listeners) listener(bytes);
    });
  });
  await new Promise<void>((done) => server.listen(door, done));

  async function unplug(): Promise<void> {
    const ending = child;
    child = null;
    socket = null;
    if (ending === null) return;
    const gone = new Promise((done) => ending.once("exit", done));
    ending.kill();
    await gone;
    rmSync(path, { force: true });
  }

  return {
    path,
    async plug() {
      const [program, ...wishes] =
        uartBaud === null ? [SOCAT, `PTY,link=${path},raw,echo=0`, `UNIX-CONNECT:${door}`] : [PYTHON, UART, path, door, String(uartBaud)];
      child = spawn(program, wishes, { stdio: ["ignore", "inherit", "inherit"] });
      while (!existsSync(path) || socket === null) {
        if (child.exitCode !== null || child.signalCode !== null)
          throw new Error(`${program} ended with ${child.exitCode ?? child.signalCode}: no port`);
        await new Promise((done) => setTimeout(done, 5));
      }
    },
    unplug,
    write(bytes) {
      socket?.write(bytes);
    },
    get written() {
      return written;
    },
    onWritten(listener) {
      listeners.add(listener);
    },
    async dispose() {
      await unplug();
      await new Promise((done) => server.close(done));
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

/** An SLCAN adapter's answers (adapter command sheet, docs/check-values.md, SLCAN): CR when taken, BEL when refused. */
export function answerLikeAdapter(
  device: PtyDevice,
  options: { refuse?: readonly string[]; onOpen?: () => void; onClose?: () => void } = {},
): void {
  let line = "";
  device.onWritten((bytes) => {
    for (const letter of bytes.toString("latin1")) {
      if (letter !== "\r") {
        line += letter;
        continue;
      }
      const refused = options.refuse?.includes(line[0] ?? "") === true;
      device.write(refused ? "\x07" : "\r");
      if (!refused && line === "L") options.onOpen?.();
      if (line === "C") options.onClose?.();
      line = "";
    }
  });
}
