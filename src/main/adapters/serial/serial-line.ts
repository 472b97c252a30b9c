/**
 * Serial ports: the only file that holds one. A line is read as bytes with their arrival time. Only an adapter's line can be written to,
 * and only with listen-only commands. Opening rejects with the system's error; later errors end in `onClose`, once.
 */
import { SerialPort } from "serialport";
import { type ListenOnlyCommand, wireText } from "../../../shared/frames/slcan-commands.ts";
import type { Clock } from "../../ports/clock.ts";
import type { DeviceLine, LineEars } from "../sources/device-talk.ts";
import { watchNode } from "./watch-node.ts";

/** Room for a second of the fastest adapter, so that a slow commit loses nothing. */
const READ_BYTES = 256 * 1024;

export interface AdapterLine extends DeviceLine {
  /** Rejects where the port fails, and with RangeError for anything that is not such a command. */
  send(command: ListenOnlyCommand): Promise<void>;
}

export interface SerialLineOptions extends LineEars {
  readonly path: string;
  readonly baud: number;
  readonly clock: Clock;
}

/** The ports that the system knows of. */
export const systemPorts = () => SerialPort.list();

function openPort({ path, baud, clock, onBytes, onClose }: SerialLineOptions): Promise<{ port: SerialPort; close(): Promise<void> }> {
  return new Promise((resolve, reject) => {
    const port = new SerialPort({ path, baudRate: baud, autoOpen: false, highWaterMark: READ_BYTES });
    let closing = false;
    let over = false;
    let heard = 0;
    const watching = new AbortController();
    const end = (why: string) => {
      watching.abort();
      if (over || closing) return;
      over = true;
      onClose(why);
    };
    port.on("data", (bytes: Buffer) => {
      heard += bytes.length;
      onBytes(bytes, clock.monotonicNs());
    });
    // Undefined where a write met a dead port: the stream then closes itself without the port's own reason.
    port.on("close", (error: Error | null | undefined) => end(error == null ? "the port closed" : `unplugged (${error.message})`));
    // After "error" the port may stay open but dead; it must be closed to work again.
    port.on("error", (error: Error) => {
      end(error.message);
      if (port.isOpen) port.close(() => undefined);
    });
    port.open((error) => {
      if (error !== null) return reject(error);
      askLowLatency(port);
      void watchNode({ path, bytes: () => heard, onGone: end }, watching.signal);
      resolve({
        port,
        close: () =>
          new Promise((done) => {
            closing = true;
            watching.abort();
            if (port.isOpen) port.close(() => done());
            else done();
          }),
      });
    });
  });
}

/** A line that can only be read: it has no way to write. */
export async function openSerialLine(options: SerialLineOptions): Promise<DeviceLine> {
  const { close } = await openPort(options);
  return { close };
}

export async function openAdapterLine(options: SerialLineOptions): Promise<AdapterLine> {
  const { port, close } = await openPort(options);
  return {
    close,
    async send(command) {
      const text = wireText(command);
      await new Promise<void>((done, failed) => {
        port.write(text, "latin1", (wrong) => {
          if (wrong !== null && wrong !== undefined) failed(wrong);
          else done();
        });
      });
    },
  };
}

/** USB bridges collect bytes for 16 ms unless told not to. This works only on Linux; a port that cannot do it refuses without harm. */
function askLowLatency(port: SerialPort): void {
  if (process.platform !== "linux") return;
  port.set({ lowLatency: true } as Parameters<SerialPort["set"]>[0], () => undefined);
}
