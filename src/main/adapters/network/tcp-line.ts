/**
 * TCP connections to receivers: the only file that opens one. Nothing is written to them. Opening rejects with the system's error, or where
 * nobody answers for some seconds; later errors end in `onClose`, once.
 */
import { connect, type Socket } from "node:net";
import type { Endpoint } from "../../../shared/setup/source-name.ts";
import type { Clock } from "../../ports/clock.ts";
import type { DeviceLine, LineEars } from "../sources/device-talk.ts";

/** An answer on a local network takes milliseconds; the system alone would try for two minutes. */
const CONNECT_MS = 4000;

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
