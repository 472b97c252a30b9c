/**
 * Messages between the launcher and a web host's process. The launcher stands between host and core, so that the measuring process belongs
 * to the launcher and outlives a host. A message of another form reads as null and is reported.
 */
import type { FromCore, ToCore } from "../core-messages.ts";

/** Sent first, and only in this way: arguments and environment of a process can be read by others. */
export interface Begin {
  readonly kind: "begin";
  readonly secret: string;
  readonly spent: readonly string[];
  /** As WebHostOptions. */
  readonly port: number | null;
  readonly screensFolder: string;
  /** The private address at which the screens are only shown; null: this machine alone. */
  readonly network: string | null;
}

export type ToHost = Begin | Exclude<FromCore, { readonly kind: "ready" | "alive" }>;

export type FromHost =
  | { readonly kind: "listening"; readonly port: number }
  /** Once a second, whatever else is said. */
  | { readonly kind: "alive" }
  /** `isTaken`: another program has the port. */
  | { readonly kind: "refused"; readonly line: string; readonly isTaken: boolean }
  | { readonly kind: "entered"; readonly nonce: string }
  /** How many pages are connected. */
  | { readonly kind: "pages"; readonly pages: number }
  | Extract<ToCore, { readonly kind: "request" }>;

/** Reads a message from the web host; null when it is none. */
export function readFromHost(message: unknown): FromHost | null {
  if (typeof message !== "object" || message === null) return null;
  const { kind, port, line, isTaken, nonce, pages, id, name } = message as Record<string, unknown>;
  const isKnown =
    kind === "alive" ||
    (kind === "listening" && typeof port === "number") ||
    (kind === "refused" && typeof line === "string" && typeof isTaken === "boolean") ||
    (kind === "entered" && typeof nonce === "string") ||
    (kind === "pages" && typeof pages === "number") ||
    (kind === "request" && typeof id === "number" && typeof name === "string");
  return isKnown ? (message as FromHost) : null;
}
