/**
 * The screens over loopback: static files and one socket on 127.0.0.1, for machines without an Electron runtime and for tests.
 * Whoever is not on this machine, or holds no session, is refused before routing; a taken port rejects with its number.
 * No request ends it: what goes wrong in one is one line to `report` and an answer.
 */
import { createServer, type IncomingMessage, type Server, type ServerResponse } from "node:http";
import type { AddressInfo } from "node:net";
import type { Duplex } from "node:stream";
import { WebSocketServer } from "ws";
import type { CoreProcess } from "../core-process.ts";
import type { PageFile } from "../page-files.ts";
import { PAGE_HEADERS } from "../page-headers.ts";
import { printReport } from "../print-report.ts";
import { reportPage } from "../report-page.ts";
import { createEntryLinks } from "./entry-links.ts";
import { servePage } from "./page-socket.ts";
import { refuse } from "./request-guard.ts";

export interface WebHost {
  readonly port: number;
  /** A fresh one-time address; the one before is void. */
  link(): string;
  close(): Promise<void>;
}

export interface WebHostOptions {
  readonly core: CoreProcess;
  readonly files: ReadonlyMap<string, PageFile>;
  /** null: the usual one, so that the browser knows its settings again (it keeps them by address); any free one where that is taken. 0: any free one. */
  readonly port: number | null;
  /** Called when a link was spent, with the next one, for a second window. */
  readonly onEntered: (nextLink: string) => void;
  /** Told what went wrong in a request, in one line without its address, which may carry a token. */
  readonly report: (line: string) => void;
}

/** A signal file comes whole; the largest public ones are under 3 MB. */
const LARGEST_MESSAGE_BYTES = 8 * 1024 * 1024;

/** In the range that is left to such use (RFC 6335, section 6), beyond the ports that systems give out by themselves first. */
export const USUAL_PORT = 61733;

function listen(server: Server, port: number): Promise<void> {
  return new Promise((resolve, reject) => {
    const refused = (cause: Error) => reject(new Error(`Port ${port} on 127.0.0.1 cannot be opened; give another with --port`, { cause }));
    server.once("error", refused);
    server.listen(port, "127.0.0.1", () => {
      server.off("error", refused);
      resolve();
    });
  });
}

function sayText(response: ServerResponse, status: number, text: string): void {
  response.writeHead(status, { ...PAGE_HEADERS, "Content-Type": "text/plain; charset=utf-8" }).end(`${text}\n`);
}

function refuseUpgrade(socket: Duplex, status: string, reason: string): void {
  socket.end(`HTTP/1.1 ${status}\r\nConnection: close\r\nContent-Type: text/plain\r\n\r\n${reason}\n`);
}

const FORBIDDEN = "403 Forbidden";

/** Where a request wants to go; null for what is no address (RFC 9112, section 3.2, names the forms). */
const addressOf = (request: IncomingMessage): URL | null => URL.parse(request.url ?? "/", "http://gripbook.invalid");

const lineOf = (error: unknown) => (error instanceof Error ? error.message : String(error)).replaceAll(/\s*\n\s*/g, " ");

export async function startWebHost({ core, files, port, onEntered, report }: WebHostOptions): Promise<WebHost> {
  const server = createServer();
  const sockets = new WebSocketServer({ noServer: true, maxPayload: LARGEST_MESSAGE_BYTES, perMessageDeflate: false });
  // Whatever keeps the usual port from us, any other one serves; what keeps that too is told.
  if (port === null) await listen(server, USUAL_PORT).catch(() => listen(server, 0));
  else await listen(server, port);
  const bound = (server.address() as AddressInfo).port;
  const links = createEntryLinks(bound);
  const link = () => `http://127.0.0.1:${bound}${links.fresh()}`;
  const asker = (request: IncomingMessage) => ({ host: request.headers.host, origin: request.headers.origin });

  const enter = (url: URL, response: ServerResponse) => {
    const cookie = links.spend(url.searchParams.get("token"));
    if (cookie === null) return sayText(response, 403, "This link was used before. Open the newest address that npm start printed.");
    response.writeHead(303, { ...PAGE_HEADERS, "Set-Cookie": cookie, Location: "/" }).end();
    onEntered(link());
  };

  const sayReport = async (url: URL, response: ServerResponse) => {
    const gone = new AbortController();
    response.on("close", () => gone.abort(new RangeError("Printing was cancelled")));
    const page = await reportPage(url, core, printReport, gone.signal);
    if (gone.signal.aborted) return;
    if (page === null) return sayText(response, 404, "Not found");
    response.writeHead(page.status, page.headers).end(page.body);
  };

  const answer = async (request: IncomingMessage, response: ServerResponse): Promise<void> => {
    const refusal = refuse(asker(request), bound, "page");
    if (refusal !== null) return sayText(response, 403, refusal);
    if (request.method !== "GET" && request.method !== "HEAD") return sayText(response, 405, "Only GET and HEAD are served");
    const url = addressOf(request);
    if (url === null) return sayText(response, 400, "Expected an address on this host");
    if (url.pathname === "/enter" && request.method === "GET") return enter(url, response);
    if (!links.known(request.headers.cookie))
      return sayText(response, 403, "Open the address that npm start printed; it lets this browser in.");
    const file = files.get(url.pathname);
    if (file === undefined) return sayReport(url, response);
    response.writeHead(200, { ...PAGE_HEADERS, "Content-Type": file.type, "Content-Length": file.bytes.length });
    response.end(request.method === "HEAD" ? undefined : file.bytes);
  };

  const upgrade = (request: IncomingMessage, socket: Duplex, head: Buffer) => {
    const refusal = refuse(asker(request), bound, "upgrade");
    if (refusal !== null) return refuseUpgrade(socket, FORBIDDEN, refusal);
    if (request.url !== "/core") return refuseUpgrade(socket, FORBIDDEN, "Not found");
    if (!links.known(request.headers.cookie))
      return refuseUpgrade(socket, FORBIDDEN, "No session: open the address that npm start printed");
    sockets.handleUpgrade(request, socket, head, (page) => servePage(page, core));
  };

  server.on("request", (request, response) => {
    answer(request, response).catch((error: unknown) => {
      report(`A page's request failed: ${lineOf(error)}`);
      if (response.headersSent) response.destroy();
      else sayText(response, 500, "This request failed; what went wrong stands where npm start was typed");
    });
  });

  server.on("upgrade", (request, socket, head) => {
    // First of all: Node has taken its own listeners off, and a reset may be on its way already.
    socket.on("error", () => socket.destroy());
    try {
      upgrade(request, socket, head);
    } catch (error) {
      report(`A page's socket failed: ${lineOf(error)}`);
      refuseUpgrade(socket, "500 Internal Server Error", "This socket failed");
    }
  });

  return {
    port: bound,
    link,
    close() {
      for (const page of sockets.clients) page.terminate();
      server.closeAllConnections();
      return new Promise((resolve) => server.close(() => resolve()));
    },
  };
}
