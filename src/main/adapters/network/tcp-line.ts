/**
 * TCP connections: the only file that opens one. A receiver's cannot be written to; a gpsd's with one constant alone. Opening rejects with the system's error, or where
 * nobody answers for some seconds; later errors end in `onClose`, once.
 */
import { connect, type Socket } from "node:net";
import type { Endpoint } from "../../../shared/setup/source-name.ts";
import type { Clock } from "../../ports/clock.ts";
import type { DeviceLine, LineEars } from "../sources/device-talk.ts";

/** gpsd's own protocol: the receiver's sentences as they come, without gpsd's reports (?WATCH, gpsd_json(5)). */
const WATCH = '?WATCH={"enable":true,"nmea":true};';
/** An answer on a local network takes milliseconds; the system alone would try for two minutes. */
const CONNECT_MS = 4000;

/** A connection that cannot be written to but for the watch. */
export interface GpsdLine extends DeviceLine {
  /** Rejects where the connection fails. */
  watch(): Promise<void>;
}

interface TcpLineOptions extends LineEars, Endpoint {
  readonly clock: Pick<Clock, "monotonicNs">;
  readonly stopping: AbortSignal;
}

function openSocket({ host, port, clock, stopping, onBytes, onClose }: TcpLineOptions): Promise<{ socket: Socket } & DeviceLine> {
  return new Promise((resolve, reject) => {
    const socket = connect({ host, port });
    let isOpen = false;
    const late = setTimeout(() => socket.destroy(new Error("ETIMEDOUT: nobody answered")), CONNECT_MS);
    const stopped = () => socket.destroy(new Error("stopped"));
    stopping.addEventListener("abort", stopped);
    const closed = new Promise<void>((done) => socket.once("close", () => done()));
    let why = "the other side closed the connection";
    let closing = false;
    socket.on("error", (error) => {
      why = error.message;
      if (!isOpen) reject(error);
    });
    socket.on("data", (bytes: Buffer) => onBytes(bytes, clock.monotonicNs()));
    socket.once("close", () => {
      clearTimeout(late);
      stopping.removeEventListener("abort", stopped);
      if (isOpen && !closing) onClose(why);
    });
    socket.once("connect", () => {
      clearTimeout(late);
      isOpen = true;
      stopping.removeEventListener("abort", stopped);
      resolve({
        socket,
        close() {
          closing = true;
          socket.destroy();
          return closed;
        },
      });
    });
  });
}

/** A connection that can only be read: it has no way to write. */
export async function openTcpLine(options: TcpLineOptions): Promise<DeviceLine> {
  const { close } = await openSocket(options);
  return { close };
}

export async function openGpsdLine(options: TcpLineOptions): Promise<GpsdLine> {
  const { socket, close } = await openSocket(options);
  return {
    close,
    watch: () =>
      new Promise((done, failed) => {
        socket.write(WATCH, "latin1", (wrong) => {
          if (wrong !== null && wrong !== undefined) failed(wrong);
          else done();
        });
      }),
  };
}
