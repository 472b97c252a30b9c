/**
 * The screens over HTTP: static files and one socket, on 127.0.0.1 for machines without an Electron runtime and for tests, or where another
 * reach says. A client that the reach does not take, or that has no session, is refused before routing; a taken port rejects with its
 * number. No request can end the host: an error in one is a line to `report` and an answer.
 */
import { createServer, type IncomingMessage, type Server, type ServerResponse } from "node:http";
import type { AddressInfo } from "node:net";
import type { Duplex } from "node:stream";
import { type WebSocket, WebSocketServer } from "ws";
import type { CoreLink } from "../core-process.ts";
import type { PageFile } from "../page-files.ts";
import { type PrintReport, reportPage } from "../report-page.ts";
import { createEntryKeys, type EntryKeys } from "./entry-keys.ts";
import { type HostReach, LOOPBACK } from "./host-reach.ts";
import { servePage } from "./page-socket.ts";
import { refuse } from "./request-guard.ts";
import { wordsOf } from "../../../shared/kernel/words-of.ts";

export interface WebHost {
  readonly port: number;
  close(): Promise<void>;
}

export interface WebHostOptions {
  /** Absent: this machine alone. */
  readonly reach?: HostReach;
  readonly core: CoreLink;
  readonly files: ReadonlyMap<string, PageFile>;
  /**
   * null: the usual port, so that the browser finds its settings again (it keeps them by address); any free one where that is taken. 0: any
   * free port.
   */
  readonly port: number | null;
  /** As EntryKeysOptions. */
  readonly secret: string;
  readonly spent: readonly string[];
  /** Called when a link was used, with the link's nonce. */
  readonly onEntered: (nonce: string) => void;
  /** Called with the number of pages that are connected, when it changes. */
  readonly onPages?: (pages: number) => void;
  /** Called with one line about an error in a request, without its address, which may contain a token. */
  readonly report: (line: string) => void;
}

function listen(server: Server, port: number, { address, words }: HostReach): Promise<void> {
  return new Promise((resolve, reject) => {
    const refused = (cause: Error) => reject(new Error(`Port ${port} on ${address} cannot be opened; ${words.remedy}`, { cause }));
    server.once("error", refused);
    server.listen({ port, host: address, ipv6Only: true }, () => {
      server.off("error", refused);
      resolve();
    });
  });
}

/** The server sets the other headers before anything is said (see "request" below). */
function sayText(response: ServerResponse, status: number, text: string): void {
  response.writeHead(status, { "Content-Type": "text/plain; charset=utf-8" }).end(`${text}\n`);
}

function refuseUpgrade(socket: Duplex, status: string, reason: string): void {
  socket.end(`HTTP/1.1 ${status}\r\nConnection: close\r\nContent-Type: text/plain\r\n\r\n${reason}\n`);
}

const FORBIDDEN = "403 Forbidden";
/** The socket's own protocol name, sent before the page's key (RFC 6455, section 1.9): a page can set no other header of a socket. */
const PROTOCOL = "gripbook";
const KEY_PREFIX = "key.";

/** The address that a request asks for; null where it is not one (RFC 9112, section 3.2, names the forms). */
const addressOf = (request: IncomingMessage): URL | null => URL.parse(request.url ?? "/", "http://gripbook.invalid");

const lineOf = (error: unknown) => wordsOf(error).replaceAll(/\s*\n\s*/g, " ");

/**
 * Sets the cookie and leads on to the screens with the page's key after "#", which no request carries. It is a page, not a redirect: after
 * a redirect that began at another site, a browser would not send the strict cookie.
 */
function sayEntered(response: ServerResponse, cookie: string, key: string): void {
  const headers = { "Content-Type": "text/html; charset=utf-8", "Set-Cookie": cookie };
  // Has its own icon, or the browser would request one.
  const head = `<title>Gripbook</title><link rel="icon" href="data:,"><meta http-equiv="refresh" content="0;url=/#key=${key}">`;
  response.writeHead(200, headers).end(`<!doctype html><html lang="en">${head}\n`);
}

/** The report, as HTML or printed; a print stops when its client has gone. */
async function sayReport(url: URL, response: ServerResponse, core: CoreLink, print: PrintReport): Promise<void> {
  const gone = new AbortController();
  response.on("close", () => gone.abort(new RangeError("Printing was cancelled")));
  const page = await reportPage(url, core, print, gone.signal);
  if (gone.signal.aborted) return;
  if (page === null) sayText(response, 404, "Not found");
  else response.writeHead(page.status, page.headers).end(page.body);
}

const asker = (request: IncomingMessage) => ({ host: request.headers.host, origin: request.headers.origin });

const TOO_MANY = "Too many wrong codes came from this address. Wait a minute.";
const fromOf = (request: IncomingMessage) => request.socket.remoteAddress ?? "";

interface Door {
  readonly reach: HostReach;
  readonly keys: EntryKeys;
  /** Our own names. */
  readonly names: readonly string[];
}

/** The session that a request's cookie names; a wrong cookie is a guess. */
function sessionBy(request: IncomingMessage, { reach, keys }: Door): string | null {
  const session = keys.session(request.headers.cookie);
  const [ours] = /gripbook-\d+=[^;]*/.exec(request.headers.cookie ?? "") ?? [];
  if (session === null && ours !== undefined) reach.guesses.note(fromOf(request), ours);
  return session;
}

/** The session of the page that may open the socket, or why it may not. */
function pageOf(request: IncomingMessage, door: Door): { readonly session: string } | { readonly refusal: string } {
  const { reach, keys, names } = door;
  const refusal = refuse(asker(request), names, "upgrade");
  if (refusal !== null) return { refusal };
  if (request.url !== "/core") return { refusal: "Not found" };
  if (reach.guesses.isTooMany(fromOf(request))) return { refusal: TOO_MANY };
  const session = sessionBy(request, door);
  const offered = (request.headers["sec-websocket-protocol"] ?? "").split(/,\s*/);
  const key = offered.find((protocol) => protocol.startsWith(KEY_PREFIX))?.slice(KEY_PREFIX.length);
  if (session !== null && key !== undefined && keys.fits(session, key)) return { session };
  if (key !== undefined) reach.guesses.note(fromOf(request), key);
  return { refusal: `No session: ${reach.words.noSession}` };
}

export async function startWebHost(options: WebHostOptions): Promise<WebHost> {
  const { reach = LOOPBACK, files, port, secret, spent, onEntered, onPages = () => undefined, report } = options;
  const { limits, guesses, words } = reach;
  const core = reach.guard(options.core);
  const server = createServer({ headersTimeout: reach.slowestMs, requestTimeout: reach.slowestMs });
  server.maxConnections = reach.mostConnections;
  server.on("connection", (socket) => reach.takes(socket) || socket.destroy());
  const sockets = new WebSocketServer({
    noServer: true,
    maxPayload: limits.mostBytes,
    perMessageDeflate: false,
    handleProtocols: () => PROTOCOL,
  });
  // Whatever prevents the use of the usual port, any other will do; an error with that one too is reported.
  if (port === null) await listen(server, reach.usualPort, reach).catch(() => listen(server, 0, reach));
  else await listen(server, port, reach);
  const bound = (server.address() as AddressInfo).port;
  const keys = createEntryKeys({ secret, port: bound, spent });
  const door = { reach, keys, names: reach.names(bound) };

  const enter = (url: URL, request: IncomingMessage, response: ServerResponse) => {
    const token = url.searchParams.get("token");
    const entered = keys.spend(token);
    if (entered === null) {
      guesses.note(fromOf(request), token ?? "");
      return sayText(response, 403, words.usedLink);
    }
    sayEntered(response, entered.cookie, entered.key);
    onEntered(entered.nonce);
  };

  const answer = async (request: IncomingMessage, response: ServerResponse): Promise<void> => {
    const refusal = refuse(asker(request), door.names, "page");
    if (refusal !== null) return sayText(response, 403, refusal);
    if (request.method !== "GET" && request.method !== "HEAD") return sayText(response, 405, "Only GET and HEAD are served");
    const url = addressOf(request);
    if (url === null) return sayText(response, 400, "Expected an address on this host");
    if (guesses.isTooMany(fromOf(request))) return sayText(response, 429, TOO_MANY);
    if (url.pathname === "/enter" && request.method === "GET") return enter(url, request, response);
    const session = sessionBy(request, door);
    if (session === null) return sayText(response, 403, words.noSession);
    const file = files.get(url.pathname);
    if (file !== undefined) {
      response.writeHead(200, { "Content-Type": file.type, "Content-Length": file.bytes.length });
      response.end(request.method === "HEAD" ? undefined : file.bytes);
      return;
    }
    // The code of the screens is not secret. The contents of the book need more than a cookie.
    if (!keys.usePass(session, url.searchParams.get("pass"))) return sayText(response, 404, "Not found");
    await sayReport(url, response, core, reach.print);
  };

  const openPage = (page: WebSocket, session: string) => {
    servePage(page, core, () => keys.pass(session), limits);
    onPages(sockets.clients.size);
    page.on("close", () => onPages(sockets.clients.size));
  };

  server.on("request", (request, response) => {
    for (const [name, value] of Object.entries(reach.headers)) response.setHeader(name, value);
    answer(request, response).catch((error: unknown) => {
      report(`A page's request failed: ${lineOf(error)}`);
      if (response.headersSent) response.destroy();
      else sayText(response, 500, "This request failed; what went wrong stands where Gripbook was started");
    });
  });

  server.on("upgrade", (request, socket, head) => {
    // First of all: Node has removed its own listeners, and a reset may already be on its way.
    socket.on("error", () => socket.destroy());
    try {
      const asked = pageOf(request, door);
      if ("refusal" in asked) return refuseUpgrade(socket, FORBIDDEN, asked.refusal);
      if (sockets.clients.size >= limits.mostPages) return refuseUpgrade(socket, FORBIDDEN, "Too many screens are open here; close one");
      sockets.handleUpgrade(request, socket, head, (page) => openPage(page, asked.session));
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
