/**
 * One page's socket: checked requests in, answers and events out; run columns go as binary behind their request id.
 * A malformed message closes the socket with the reason. A page that reads too slowly misses live pictures and is asked no more of until it has
 * read its answers; one that leaves even the notices unread is let go, and comes back by itself.
 */
import type { WebSocket } from "ws";
import { encodeColumns } from "../../../shared/contract/columns.ts";
import { checkRequest, type RunColumns } from "../../../shared/contract/contract.ts";
import type { CoreLink } from "../core-process.ts";
import { wordsOf } from "../../../shared/kernel/words-of.ts";

/** Live snapshots are skipped above this; a page that far behind would only show the past. */
const MOST_BUFFERED_BYTES = 256 * 1024;
/** Requests asked and not yet answered to the page's machine; more wait their turn, and the socket is not read. */
const MOST_ASKED = 16;
const MOST_UNREAD_BYTES = 256 * 1024 * 1024;
const CLOSE_PROTOCOL_ERROR = 1002;
/** Asked of the host and not of the core: what lets one address be read once. */
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

export function servePage(socket: WebSocket, core: CoreLink, pass: () => string): void {
  /** Requests read and not asked yet: at most what one read of the socket held. */
  const held: Asked[] = [];
  let asked = 0;

  const answerTo = async ({ id, name, argument }: Asked): Promise<string | Uint8Array> => {
    try {
      if (name === PASS) return JSON.stringify({ id, ok: true, answer: pass() });
      const checked = checkRequest(name, argument);
      const result = await core.request(checked.name, checked.argument);
      return checked.name === "run.columns" ? columnsFrame(id, result as RunColumns) : JSON.stringify({ id, ok: true, answer: result });
    } catch (error) {
      return JSON.stringify({ id, ok: false, error: wordsOf(error) });
    }
  };

  function askOn(): void {
    while (asked < MOST_ASKED && socket.readyState === socket.OPEN) {
      const next = held.shift();
      if (next === undefined) break;
      asked += 1;
      void answerTo(next).then((answer) =>
        // Called as well where the socket is closed by now.
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
    if (event.event === "live" && socket.bufferedAmount > MOST_BUFFERED_BYTES) return;
    if (socket.bufferedAmount > MOST_UNREAD_BYTES) return socket.terminate();
    socket.send(JSON.stringify({ event }));
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
  // ws closes the socket itself after an error (an oversized frame, say); "close" follows and cleans up.
  socket.on("error", () => socket.terminate());
}
