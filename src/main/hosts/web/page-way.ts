/**
 * How long the way to a page is now. After each live event a ping goes the same way, and the page's browser answers by itself (RFC 6455,
 * section 5.5.3: it may answer the newest one alone). While an answer is missing for too long, the page would show the past as the present.
 */
import type { WebSocket } from "ws";

export interface PageWay {
  /** A live event was sent just now. */
  sent(): void;
  /** What was sent before is not there yet: what is sent now would come late. */
  isLate(): boolean;
  /** Nothing has arrived for so long that nobody is there any more. */
  isLost(): boolean;
}

const LOST_MS = 15_000;

export function watchWay(socket: WebSocket, lateMs: number, nowMs: () => number = () => performance.now()): PageWay {
  const underWay: { readonly number: number; readonly atMs: number }[] = [];
  let number = 0;
  socket.on("pong", (data: Buffer) => {
    const answered = Number(data.toString());
    while (underWay[0] !== undefined && underWay[0].number <= answered) underWay.shift();
  });
  const waitedMs = () => (underWay[0] === undefined ? 0 : nowMs() - underWay[0].atMs);
  return {
    sent() {
      number += 1;
      underWay.push({ number, atMs: nowMs() });
      socket.ping(String(number));
    },
    isLate: () => waitedMs() > lateMs,
    isLost: () => waitedMs() > LOST_MS,
  };
}
