/**
 * What the launcher and the web host's process say to each other. The launcher stands between host and core, so that the measuring process is the
 * launcher's and outlives a host. A message of another shape reads as null and is reported, never guessed at.
 */
import type { FromCore, ToCore } from "../core-messages.ts";

/** Sent first, and by this way only: arguments and environment of a process are open to others. */
export interface Begin {
  readonly kind: "begin";
  readonly secret: string;
  readonly spent: readonly string[];
  /** As WebHostOptions. */
  readonly port: number | null;
  readonly screensFolder: string;
}

export type ToHost = Begin | Exclude<FromCore, { readonly kind: "ready" }>;

export type FromHost =
  | { readonly kind: "listening"; readonly port: number }
  /** `isTaken`: another program has the port. */
  | { readonly kind: "refused"; readonly line: string; readonly isTaken: boolean }
  | { readonly kind: "entered"; readonly nonce: string }
  | Extract<ToCore, { readonly kind: "request" }>;

/** Reads a message of the web host; null when it is none. */
export function readFromHost(message: unknown): FromHost | null {
  if (typeof message !== "object" || message === null) return null;
  const { kind, port, line, isTaken, nonce, id, name } = message as Record<string, unknown>;
  const isKnown =
    (kind === "listening" && typeof port === "number") ||
    (kind === "refused" && typeof line === "string" && typeof isTaken === "boolean") ||
    (kind === "entered" && typeof nonce === "string") ||
    (kind === "request" && typeof id === "number" && typeof name === "string");
  return isKnown ? (message as FromHost) : null;
}
