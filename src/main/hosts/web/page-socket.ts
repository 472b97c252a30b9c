/**
 * One page's socket: takes requests, sends answers and events; run columns go as binary after their request id. A malformed message
 * closes the socket with the reason. A page that reads too slowly misses live events, and its next requests wait until it has read its
 * answers. One that does not even read the notices is disconnected, and connects again by itself.
 */
import type { WebSocket } from "ws";
import { encodeColumns } from "../../../shared/contract/columns.ts";
import type { RunColumns } from "../../../shared/contract/contract.ts";
import type { CoreLink } from "../core-process.ts";
import type { PageLimits } from "./host-reach.ts";
import { watchWay } from "./page-way.ts";
import { wordsOf } from "../../../shared/kernel/words-of.ts";

/** Above this, live events are skipped; a page this far behind would only show the past. */
const MOST_BUFFERED_BYTES = 256 * 1024;
const MOST_UNREAD_BYTES = 256 * 1024 * 1024;
const CLOSE_PROTOCOL_ERROR = 1002;
/** A request to the host, not to the core: a pass to read one address once. */
const PASS = "host.pass";

interface Asked {
  readonly id: number;
  readonly name: string;
  readonly argument: unknown;
}

function readAsked(text: string): Asked | string {
  let message: unknown;
  try {
    message = JSON.parse(text);
  } catch {
    return "expected JSON";
  }
  const { id, name, argument } = (message ?? {}) as Record<string, unknown>;
  if (!Number.isInteger(id) || (id as number) < 0 || (id as number) > 0xffffffff) return "expected a request id from 0 to 4294967295";
  if (typeof name !== "string") return "expected a request name";
  return { id: id as number, name, argument };
}

function columnsFrame(id: number, columns: RunColumns): Uint8Array {
  const body = encodeColumns(columns);
  const frame = new Uint8Array(4 + body.length);
  new DataView(frame.buffer).setUint32(0, id, true);
  frame.set(body, 4);
  return frame;
}

/** `core` checks what it is asked. */
export function servePage(socket: WebSocket, core: CoreLink, pass: () => string, { mostAsked, lateMs }: PageLimits): void {
  const way = lateMs === null ? null : watchWay(socket, lateMs);
  /** Requests read but not passed on yet: at most what one read of the socket held. */
  const held: Asked[] = [];
  let asked = 0;

  const answerTo = async ({ id, name, argument }: Asked): Promise<string | Uint8Array> => {
    try {
      if (name === PASS) return JSON.stringify({ id, ok: true, answer: pass() });
      const result = await core.request(name, argument);
      return name === "run.columns" ? columnsFrame(id, result as RunColumns) : JSON.stringify({ id, ok: true, answer: result });
    } catch (error) {
      return JSON.stringify({ id, ok: false, error: wordsOf(error) });
    }
  };

  function askOn(): void {
    while (asked < mostAsked && socket.readyState === socket.OPEN) {
      const next = held.shift();
      if (next === undefined) break;
      asked += 1;
      void answerTo(next).then((answer) =>
        // Also called where the socket is already closed.
        socket.send(answer, () => {
          asked -= 1;
          askOn();
        }),
      );
    }
    if (held.length > 0) socket.pause();
    else if (socket.isPaused) socket.resume();
  }

  const stop = core.onEvent((event) => {
    if (socket.readyState !== socket.OPEN) return;
    if (socket.bufferedAmount > MOST_UNREAD_BYTES || way?.isLost()) return socket.terminate();
    if (event.event === "live" && (socket.bufferedAmount > MOST_BUFFERED_BYTES || way?.isLate())) return;
    socket.send(JSON.stringify({ event }));
    if (event.event === "live") way?.sent();
  });
  socket.on("message", (data, isBinary) => {
    const next = isBinary ? "expected text" : readAsked(data.toString());
    if (typeof next === "string") return socket.close(CLOSE_PROTOCOL_ERROR, next);
    held.push(next);
    askOn();
  });
  socket.on("close", () => {
    held.length = 0;
    stop();
  });
  // ws closes the socket itself after an error (such as an oversized frame); "close" follows and cleans up.
  socket.on("error", () => socket.terminate());
}
