/** The way to the core: the preload's named functions under Electron, else the loopback socket. */
import type { Bridge, CoreEvent, RequestName } from "../../shared/contract/contract.ts";
import { pageKey } from "./page-key.ts";
import { openWebBridge } from "./web-bridge.ts";

/** What the Electron preload puts on the page: one named function a request, and the events. */
interface PreloadBridge {
  readonly requests: Readonly<Record<RequestName, (argument: unknown) => Promise<unknown>>>;
  onEvent(listener: (event: CoreEvent) => void): () => void;
  /** Tells the shell that a frame was drawn. */
  shown(): Promise<void>;
}

declare global {
  interface Window {
    readonly gripbook?: PreloadBridge;
  }
}

export function openBridge(): Bridge {
  const preload = window.gripbook;
  if (preload === undefined) return openWebBridge(`ws://${window.location.host}/core`, pageKey());
  return {
    request: ((name: RequestName, argument: unknown) => preload.requests[name](argument)) as Bridge["request"],
    onEvent: (listener) => preload.onEvent(listener),
    // The window is the only page there is.
    pass: async (address) => address,
  } satisfies Bridge;
}

/** Tells a window's shell once the page has drawn; until then it doesn't count as shown. In a browser there is nobody to tell. */
export function sayShown(): void {
  const preload = window.gripbook;
  if (preload === undefined) return;
  // The second call comes after the first frame with the page in it.
  requestAnimationFrame(() => requestAnimationFrame(() => void preload.shown()));
}
