/**
 * The screens over loopback: static files and one socket on 127.0.0.1, for machines without an Electron runtime and for tests.
 * Whoever is not on this machine, or holds no session, is refused before routing; a taken port rejects with its number.
 * No request ends it: what goes wrong in one is one line to `report` and an answer.
 */
import { createServer, type IncomingMessage, type Server, type ServerResponse } from "node:http";
import type { AddressInfo } from "node:net";
import type { Duplex } from "node:stream";
import { WebSocketServer } from "ws";
import type { CoreLink } from "../core-process.ts";
import type { PageFile } from "../page-files.ts";
import { PAGE_HEADERS } from "../page-headers.ts";
import { createPrintQueue } from "../print-queue.ts";
import { printReport } from "../print-report.ts";
import { type PrintReport, reportPage } from "../report-page.ts";
import { createEntryKeys, type EntryKeys } from "./entry-keys.ts";
import { servePage } from "./page-socket.ts";
import { refuse } from "./request-guard.ts";
import { wordsOf } from "../../../shared/kernel/words-of.ts";

export interface WebHost {
  readonly port: number;
  close(): Promise<void>;
}

export interface WebHostOptions {
  readonly core: CoreLink;
  readonly files: ReadonlyMap<string, PageFile>;
  /** null: the usual one, so that the browser knows its settings again (it keeps them by address); any free one where that is taken. 0: any free one. */
  readonly port: number | null;
  /** As EntryKeysOptions. */
  readonly secret: string;
  readonly spent: readonly string[];
  /** Called when a link was spent, with what names it. */
  readonly onEntered: (nonce: string) => void;
  /** Told what went wrong in a request, in one line without its address, which may carry a token. */
  readonly report: (line: string) => void;
}

/** A signal file comes whole; the largest public ones are under 3 MB. */
const LARGEST_MESSAGE_BYTES = 8 * 1024 * 1024;

/** A handful of windows takes a handful each; what other programs hold open beyond that is turned away. */
const MOST_CONNECTIONS = 256;

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
/** The socket's own name, and before the page's key (RFC 6455, section 1.9): a page can set no other header of a socket. */
const PROTOCOL = "gripbook";
const KEY_PREFIX = "key.";

/** Where a request wants to go; null for what is no address (RFC 9112, section 3.2, names the forms). */
const addressOf = (request: IncomingMessage): URL | null => URL.parse(request.url ?? "/", "http://gripbook.invalid");

const lineOf = (error: unknown) => wordsOf(error).replaceAll(/\s*\n\s*/g, " ");

/**
 * Sets the cookie, and leads on to the screens with the page's key behind "#", which no request carries. A page and no redirect: after one
 * that began in another place, a browser would keep the strict cookie to itself.
 */
function sayEntered(response: ServerResponse, cookie: string, key: string): void {
  const headers = { ...PAGE_HEADERS, "Content-Type": "text/html; charset=utf-8", "Set-Cookie": cookie };
  // An icon of its own, or the browser would ask for one.
  const head = `<title>Gripbook</title><link rel="icon" href="data:,"><meta http-equiv="refresh" content="0;url=/#key=${key}">`;
  response.writeHead(200, headers).end(`<!doctype html><html lang="en">${head}\n`);
}

/** The report, whole or printed; whoever asked and has gone is not printed for. */
async function sayReport(url: URL, response: ServerResponse, core: CoreLink, print: PrintReport): Promise<void> {
  const gone = new AbortController();
  response.on("close", () => gone.abort(new RangeError("Printing was cancelled")));
  const page = await reportPage(url, core, print, gone.signal);
  if (gone.signal.aborted) return;
  if (page === null) sayText(response, 404, "Not found");
  else response.writeHead(page.status, page.headers).end(page.body);
}

const asker = (request: IncomingMessage) => ({ host: request.headers.host, origin: request.headers.origin });

/** Whose page may open the socket: the session, or why not. */
function sessionOf(request: IncomingMessage, keys: EntryKeys, port: number): { readonly session: string } | { readonly refusal: string } {
  const refusal = refuse(asker(request), port, "upgrade");
  if (refusal !== null) return { refusal };
  if (request.url !== "/core") return { refusal: "Not found" };
  const session = keys.session(request.headers.cookie);
  const offered = (request.headers["sec-websocket-protocol"] ?? "").split(/,\s*/);
  const key = offered.find((protocol) => protocol.startsWith(KEY_PREFIX))?.slice(KEY_PREFIX.length);
  if (session === null || key === undefined || !keys.fits(session, key))
    return { refusal: "No session: open the address that npm start printed" };
  return { session };
}

export async function startWebHost({ core, files, port, secret, spent, onEntered, report }: WebHostOptions): Promise<WebHost> {
  const server = createServer();
  server.maxConnections = MOST_CONNECTIONS;
  const sockets = new WebSocketServer({
    noServer: true,
    maxPayload: LARGEST_MESSAGE_BYTES,
    perMessageDeflate: false,
    handleProtocols: () => PROTOCOL,
  });
  // Whatever keeps the usual port from us, any other one serves; what keeps that too is told.
  if (port === null) await listen(server, USUAL_PORT).catch(() => listen(server, 0));
  else await listen(server, port);
  const bound = (server.address() as AddressInfo).port;
  const keys = createEntryKeys({ secret, port: bound, spent });
  const print = createPrintQueue(printReport);

  const enter = (url: URL, response: ServerResponse) => {
    const entered = keys.spend(url.searchParams.get("token"));
    if (entered === null) return sayText(response, 403, "This link was used before. Open the newest address that npm start printed.");
    sayEntered(response, entered.cookie, entered.key);
    onEntered(entered.nonce);
  };

  const answer = async (request: IncomingMessage, response: ServerResponse): Promise<void> => {
    const refusal = refuse(asker(request), bound, "page");
    if (refusal !== null) return sayText(response, 403, refusal);
    if (request.method !== "GET" && request.method !== "HEAD") return sayText(response, 405, "Only GET and HEAD are served");
    const url = addressOf(request);
    if (url === null) return sayText(response, 400, "Expected an address on this host");
    if (url.pathname === "/enter" && request.method === "GET") return enter(url, response);
    const session = keys.session(request.headers.cookie);
    if (session === null) return sayText(response, 403, "Open the address that npm start printed; it lets this browser in.");
    const file = files.get(url.pathname);
    if (file !== undefined) {
      response.writeHead(200, { ...PAGE_HEADERS, "Content-Type": file.type, "Content-Length": file.bytes.length });
      response.end(request.method === "HEAD" ? undefined : file.bytes);
      return;
    }
    // The code of the screens is no secret. What the book holds takes more than a cookie.
    if (!keys.usePass(session, url.searchParams.get("pass"))) return sayText(response, 404, "Not found");
    await sayReport(url, response, core, print);
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
      const asked = sessionOf(request, keys, bound);
      if ("refusal" in asked) return refuseUpgrade(socket, FORBIDDEN, asked.refusal);
      sockets.handleUpgrade(request, socket, head, (page) => servePage(page, core, () => keys.pass(asked.session)));
    } catch (error) {
      report(`A page's socket failed: ${lineOf(error)}`);
      refuseUpgrade(socket, "500 Internal Server Error", "This socket failed");
    }
  });

  return {
    port: bound,
    close() {
      for (const page of sockets.clients) page.terminate();
      server.closeAllConnections();
      return new Promise((resolve) => server.close(() => resolve()));
    },
  };
}
