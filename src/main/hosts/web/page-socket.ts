/**
 * One page's socket: checked requests in, answers and events out; run columns go as binary behind their request id.
 * A malformed message closes the socket with the reason; a page that reads too slowly misses live snapshots, never answers.
 */
import type { WebSocket } from "ws";
import { encodeColumns } from "../../../shared/contract/columns.ts";
import { checkRequest, type RunColumns } from "../../../shared/contract/contract.ts";
import type { CoreProcess } from "../core-process.ts";

/** Live snapshots are skipped above this; a page that far behind would only show the past. */
const MOST_BUFFERED_BYTES = 256 * 1024;
const CLOSE_PROTOCOL_ERROR = 1002;

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

export function servePage(socket: WebSocket, core: CoreProcess): void {
  const say = (message: object) => {
    if (socket.readyState === socket.OPEN) socket.send(JSON.stringify(message));
  };

  const answer = async ({ id, name, argument }: Asked) => {
    try {
      const checked = checkRequest(name, argument);
      const result = await core.request(checked.name, checked.argument);
      if (socket.readyState !== socket.OPEN) return;
      if (checked.name === "run.columns") socket.send(columnsFrame(id, result as RunColumns));
      else say({ id, ok: true, answer: result });
    } catch (error) {
      say({ id, ok: false, error: error instanceof Error ? error.message : String(error) });
    }
  };

  const stop = core.onEvent((event) => {
    if (event.event === "live" && socket.bufferedAmount > MOST_BUFFERED_BYTES) return;
    say({ event });
  });
  socket.on("message", (data, isBinary) => {
    const asked = isBinary ? "expected text" : readAsked(data.toString());
    if (typeof asked === "string") socket.close(CLOSE_PROTOCOL_ERROR, asked);
    else void answer(asked);
  });
  socket.on("close", stop);
  // ws closes the socket itself after an error (an oversized frame, say); "close" follows and cleans up.
  socket.on("error", () => socket.terminate());
}
