/** Messages between a host and the measuring process. A message of another form reads as null and is reported. */
import type { CoreEvent } from "../../shared/contract/contract.ts";

export type ToCore =
  | { readonly kind: "request"; readonly id: number; readonly name: string; readonly argument: unknown }
  | { readonly kind: "close" };

export type FromCore =
  | { readonly kind: "ready" }
  /** Once a second, whatever else is said. */
  | { readonly kind: "alive" }
  | { readonly kind: "answer"; readonly id: number; readonly ok: true; readonly answer: unknown }
  | { readonly kind: "answer"; readonly id: number; readonly ok: false; readonly error: string }
  | { readonly kind: "event"; readonly event: CoreEvent };

/** Reads a message of the measuring process; null when it is none. */
export function readFromCore(message: unknown): FromCore | null {
  if (typeof message !== "object" || message === null) return null;
  const { kind, id, ok, error, event } = message as Record<string, unknown>;
  if (kind === "ready" || kind === "alive") return message as FromCore;
  if (kind === "answer" && typeof id === "number" && (ok === true || (ok === false && typeof error === "string")))
    return message as FromCore;
  if (kind === "event" && typeof event === "object" && event !== null) return message as FromCore;
  return null;
}
