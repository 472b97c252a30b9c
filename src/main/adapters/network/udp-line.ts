/**
 * UDP ports of this computer: the only file that holds one. It is bound at every IPv4 address, as phones and receivers send to the whole
 * network (broadcast) too, and reads; it has no way to send. Opening rejects with the system's error; later errors end in `onClose`, once.
 */
import { createSocket } from "node:dgram";
import type { Clock } from "../../ports/clock.ts";
import type { DeviceLine, LineEars } from "../sources/device-talk.ts";
import type { UdpSenders } from "./udp-senders.ts";

interface UdpLineOptions extends LineEars {
  readonly port: number;
  readonly senders: UdpSenders;
  readonly clock: Pick<Clock, "monotonicNs">;
}

export function openUdpLine({ port, senders, clock, onBytes, onClose }: UdpLineOptions): Promise<DeviceLine> {
  return new Promise((resolve, reject) => {
    const socket = createSocket("udp4");
    let isOpen = false;
    let isOver = false;
    const close = () =>
      new Promise<void>((done) => {
        if (isOver) return done();
        isOver = true;
        socket.close(() => done());
      });
    socket.on("error", (error) => {
      if (!isOpen) reject(error);
      else if (!isOver) onClose(error.message);
      void close();
    });
    socket.on("message", (datagram, { address }) => {
      const arrivalNs = clock.monotonicNs();
      const bytes = isOver ? null : senders.take(address, datagram, arrivalNs);
      if (bytes !== null) onBytes(bytes, arrivalNs);
    });
    socket.bind({ port, exclusive: true }, () => {
      isOpen = true;
      resolve({ close });
    });
  });
}
