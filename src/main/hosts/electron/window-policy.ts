/**
 * What the Electron window may do. Functions of small parts of Electron's API, so that they can be tested without a runtime. Everything is
 * refused except the program's own page asking for something in the contract.
 */
import { checkRequest } from "../../../shared/contract/contract.ts";
import type { CoreLink } from "../core-process.ts";
import type { PageFile } from "../page-files.ts";
import { PAGE_HEADERS } from "../page-headers.ts";
import { type PrintReport, reportPage } from "../report-page.ts";
import { wordsOf } from "../../../shared/kernel/words-of.ts";

export const APP_ORIGIN = "app://gripbook";

export interface AppPages {
  readonly files: ReadonlyMap<string, PageFile>;
  readonly core: Pick<CoreLink, "request">;
  readonly print: PrintReport;
}

/** Serves the built screens and the report under app://gripbook; any other path is 404, another host 403. */
export async function serveApp(
  { files, core, print }: AppPages,
  address: string,
  signal: AbortSignal = new AbortController().signal,
): Promise<Response> {
  const url = new URL(address);
  // URL.origin is "null" for unknown schemes, so protocol and host are compared.
  if (`${url.protocol}//${url.host}` !== APP_ORIGIN)
    return new Response("Not this program's page\n", { status: 403, headers: PAGE_HEADERS });
  const file = files.get(url.pathname);
  if (file === undefined) {
    const page = await reportPage(url, core, print, signal);
    if (page === null) return new Response("Not found\n", { status: 404, headers: PAGE_HEADERS });
    return new Response(page.body, { status: page.status, headers: page.headers });
  }
  return new Response(file.bytes, { headers: { ...PAGE_HEADERS, "Content-Type": file.type } });
}

/** How the window's page runs: after Electron's security checklist, items 2, 3, 4, 6, 8, 9 and 11. */
export const PAGE_PREFERENCES = {
  sandbox: true,
  contextIsolation: true,
  nodeIntegration: false,
  nodeIntegrationInWorker: false,
  nodeIntegrationInSubFrames: false,
  webSecurity: true,
  allowRunningInsecureContent: false,
  experimentalFeatures: false,
  webviewTag: false,
} as const;

interface Cancellable {
  preventDefault(): void;
}

/** The events that may lead a page elsewhere. */
export interface LeadingAway {
  setWindowOpenHandler(handler: () => { action: "deny" }): void;
  on(name: "will-navigate" | "will-redirect" | "will-frame-navigate", listener: (event: Cancellable & { url: string }) => void): unknown;
  on(name: "will-attach-webview", listener: (event: Cancellable) => void): unknown;
}

/**
 * The page stays where it is: no other address, no further window, no web view. `isOurs`: the addresses that it, or a frame in it, may go
 * to.
 */
export function keepAtHome(contents: LeadingAway, isOurs: (address: string) => boolean): void {
  contents.setWindowOpenHandler(() => ({ action: "deny" }));
  for (const name of ["will-navigate", "will-redirect", "will-frame-navigate"] as const) {
    contents.on(name, (event) => {
      if (!isOurs(event.url)) event.preventDefault();
    });
  }
  contents.on("will-attach-webview", (event) => event.preventDefault());
}

interface Asking {
  setPermissionRequestHandler(handler: (contents: unknown, permission: string, answer: (granted: boolean) => void) => void): void;
  setPermissionCheckHandler(handler: () => boolean): void;
  setDevicePermissionHandler(handler: () => boolean): void;
}

/** Camera, location, notifications, devices: no page is granted anything. */
export function refusePermissions(session: Asking): void {
  session.setPermissionRequestHandler((_contents, _permission, answer) => answer(false));
  session.setPermissionCheckHandler(() => false);
  session.setDevicePermissionHandler(() => false);
}

interface Requesting {
  readonly webRequest: {
    onBeforeRequest(listener: (details: { readonly url: string }, answer: (how: { cancel: boolean }) => void) => void): void;
  };
}

/** For pages that contain everything they need: nothing but their own address is loaded, neither from the network nor from this machine. */
export function refuseNetwork({ webRequest }: Requesting): void {
  webRequest.onBeforeRequest(({ url }, answer) => answer({ cancel: !url.startsWith("data:") }));
}

/** The parts of an IPC message's sender that are checked. */
export interface Sender {
  readonly url: string;
}

/** Throws unless the message comes from the top frame of our own page. */
export function checkSender(frame: Sender | null, mainFrame: Sender): void {
  if (frame === null || frame !== mainFrame) throw new Error("Refused: not the program's own frame");
  const url = new URL(frame.url);
  if (`${url.protocol}//${url.host}` !== APP_ORIGIN) throw new Error("Refused: not the program's own page");
}

/** Answers a page's request after checking the sender and the request; errors become plain values, as Electron would add to their text. */
export async function answerPage(
  core: CoreLink,
  name: unknown,
  argument: unknown,
): Promise<{ ok: true; answer: unknown } | { ok: false; error: string }> {
  try {
    const checked = checkRequest(String(name), argument);
    return { ok: true, answer: await core.request(checked.name, checked.argument) };
  } catch (error) {
    return { ok: false, error: wordsOf(error) };
  }
}

interface Blocker {
  start(type: "prevent-display-sleep"): number;
  stop(id: number): boolean;
}

/** Keeps the display on while a launch is possible, and only then. */
export function createDisplayGuard(blocker: Blocker): (state: string) => void {
  let id: number | null = null;
  return (state) => {
    const wanted = state === "armed" || state === "standing" || state === "launched" || state === "done";
    if (wanted && id === null) id = blocker.start("prevent-display-sleep");
    if (!wanted && id !== null) {
      blocker.stop(id);
      id = null;
    }
  };
}
