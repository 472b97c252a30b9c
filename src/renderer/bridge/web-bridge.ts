/**
 * The contract over a web host's socket. When the socket is lost, waiting requests reject, the page gets one notice, and the socket is
 * opened again. Requests made meanwhile reject at once, so that no key press acts later than it was meant.
 */
import { decodeColumns } from "../../shared/contract/columns.ts";
import type { Bridge, CoreEvent, RequestName } from "../../shared/contract/contract.ts";
import { overNetwork } from "./over-network.ts";

interface Waiting {
  resolve(answer: unknown): void;
  reject(error: Error): void;
}

interface Said {
  readonly id?: number;
  readonly ok?: boolean;
  readonly answer?: unknown;
  readonly error?: string;
  readonly event?: CoreEvent;
}

const NO_LINK = overNetwork()
  ? "The laptop does not answer. It is looked for again; if it stays away, scan a new code there: F1, On the local network"
  : "Gripbook's own process does not answer. It is looked for again; if it stays away, start Gripbook again, then open the address it prints";
const AGAIN_MS = 500;

export function openWebBridge(address: string, key: string): Bridge {
  const listeners = new Set<(event: CoreEvent) => void>();
  const waiting = new Map<number, Waiting>();
  let nextId = 1;
  let socket: WebSocket;
  let open: Promise<void>;
  const tell = (event: CoreEvent) => {
    for (const listener of listeners) listener(event);
  };

  const settle = (id: number, said: Said) => {
    const asked = waiting.get(id);
    waiting.delete(id);
    if (said.ok) asked?.resolve(said.answer);
    else asked?.reject(new Error(said.error ?? "no reason given"));
  };

  const onMessage = ({ data }: MessageEvent<string | ArrayBuffer>) => {
    if (typeof data !== "string") {
      const id = new DataView(data).getUint32(0, true);
      return settle(id, { ok: true, answer: decodeColumns(new Uint8Array(data, 4)) });
    }
    const said = JSON.parse(data) as Said;
    if (said.event !== undefined) tell(said.event);
    else if (said.id !== undefined) settle(said.id, said);
  };

  function connect(): void {
    socket = new WebSocket(address, ["gripbook", `key.${key}`]);
    socket.binaryType = "arraybuffer";
    open = new Promise((resolve, reject) => {
      socket.onopen = () => {
        tell({ event: "notice", key: "link", text: null });
        resolve();
      };
      socket.onclose = () => {
        reject(new Error(NO_LINK));
        for (const asked of waiting.values()) asked.reject(new Error(NO_LINK));
        waiting.clear();
        tell({ event: "notice", key: "link", text: NO_LINK });
        setTimeout(connect, AGAIN_MS);
      };
    });
    // The notice and each request report the refusal; without a request nobody else listens.
    open.catch(() => undefined);
    socket.onmessage = onMessage;
  }

  const ask = async (name: RequestName | "host.pass", argument: unknown): Promise<unknown> => {
    await open;
    const id = nextId++;
    return new Promise((resolve, reject) => {
      waiting.set(id, { resolve, reject });
      socket.send(JSON.stringify({ id, name, argument }));
    });
  };

  connect();
  return {
    request: ask as Bridge["request"],
    onEvent(listener) {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
    async pass(address) {
      const pass = String(await ask("host.pass", {}));
      return `${address}${address.includes("?") ? "&" : "?"}pass=${pass}`;
    },
  } satisfies Bridge;
}
