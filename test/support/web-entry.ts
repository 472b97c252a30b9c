/** Enters a web host as a browser does, in raw HTTP, and opens its socket with the cookie and the key that it was given. */
import { get } from "node:http";
import { WebSocket } from "ws";

export interface Entered {
  readonly status: number;
  readonly cookie: string;
  readonly key: string;
}

const HEADERS = { Connection: "close" };

interface Answer {
  readonly status: number;
  readonly headers: Readonly<Record<string, unknown>>;
  readonly text: string;
}

export function ask(address: string, headers: Readonly<Record<string, string>> = {}): Promise<Answer> {
  return new Promise((resolve, reject) => {
    get(address, { headers: { ...HEADERS, ...headers } }, (response) => {
      let text = "";
      response.setEncoding("utf8").on("data", (more: string) => {
        text += more;
      });
      response.on("end", () => resolve({ status: response.statusCode ?? 0, headers: response.headers, text }));
    }).on("error", reject);
  });
}

export async function enter(link: string): Promise<Entered> {
  const { status, headers, text } = await ask(link);
  const [cookie = ""] = (headers["set-cookie"] as string[] | undefined) ?? [];
  return { status, cookie: cookie.split(";")[0] ?? "", key: /#key=([\w-]+)/.exec(text)?.[1] ?? "" };
}

/** Resolves once it is open; rejects with the host's status. `base`: the host's address, as "http://127.0.0.1:61733". */
export function openSocketAt(
  base: string,
  { cookie, key }: Pick<Entered, "cookie" | "key">,
  {
    origin = base,
    path = "/core",
    autoPong = true,
  }: { readonly origin?: string | null; readonly path?: string; readonly autoPong?: boolean } = {},
): Promise<WebSocket> {
  return new Promise((resolve, reject) => {
    const protocols = key === "" ? ["gripbook"] : ["gripbook", `key.${key}`];
    const socket = new WebSocket(`${base.replace("http", "ws")}${path}`, protocols, {
      headers: { Cookie: cookie },
      autoPong,
      ...(origin === null ? {} : { origin }),
    });
    socket.once("open", () => resolve(socket));
    socket.once("error", reject);
  });
}

export const openSocket = (port: number, entered: Pick<Entered, "cookie" | "key">, origin?: string | null, path?: string) =>
  openSocketAt(`http://127.0.0.1:${port}`, entered, {
    ...(origin === undefined ? {} : { origin }),
    ...(path === undefined ? {} : { path }),
  });

/** One request over the socket; answers its whole message. */
export function askOver(socket: WebSocket, id: number, name: string, argument: unknown): Promise<Record<string, unknown>> {
  return new Promise((resolve) => {
    const listen = (data: Buffer, binary: boolean) => {
      if (binary) return;
      const message = JSON.parse(data.toString()) as Record<string, unknown>;
      if (message.id !== id) return;
      socket.off("message", listen);
      resolve(message);
    };
    socket.on("message", listen);
    socket.send(JSON.stringify({ id, name, argument }));
  });
}
