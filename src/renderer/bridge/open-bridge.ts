/** The connection to the core: the preload script's functions under Electron, otherwise a web host's socket. */
import type { Bridge, CoreEvent, RequestName } from "../../shared/contract/contract.ts";
import { pageKey } from "./page-key.ts";
import { openWebBridge } from "./web-bridge.ts";

/** What Electron's preload script offers to the page: one named function for each request, and the events. */
interface PreloadBridge {
  readonly requests: Readonly<Record<RequestName, (argument: unknown) => Promise<unknown>>>;
  onEvent(listener: (event: CoreEvent) => void): () => void;
  /** Tells Electron that a frame was drawn. */
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
    // Under Electron there is no other page that would need a pass.
    pass: async (address) => address,
  } satisfies Bridge;
}

/** Tells Electron once the page has drawn; until then the window does not count as shown. In a browser it does nothing. */
export function sayShown(): void {
  const preload = window.gripbook;
  if (preload === undefined) return;
  // The second call comes after the first frame with the page in it.
  requestAnimationFrame(() => requestAnimationFrame(() => void preload.shown()));
}
