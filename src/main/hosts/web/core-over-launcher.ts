/** The way from the web host's process over the launcher to the core. The launcher answers every request, with the reason where it cannot; unknown messages are dropped. */
import type { CoreLink } from "../core-process.ts";
import { readFromCore } from "../core-messages.ts";
import { createStandingEvents } from "../standing-events.ts";
import type { FromHost } from "./host-messages.ts";

export interface CoreOverLauncher extends CoreLink {
  /** Takes a message of the launcher. */
  take(message: unknown): void;
}

export function coreOverLauncher(send: (message: FromHost) => void): CoreOverLauncher {
  const events = createStandingEvents();
  const waiting = new Map<number, { resolve(answer: unknown): void; reject(error: Error): void }>();
  let nextId = 1;
  return {
    request(name, argument) {
      const id = nextId++;
      return new Promise((resolve, reject) => {
        waiting.set(id, { resolve, reject });
        send({ kind: "request", id, name, argument });
      });
    },
    onEvent: events.onEvent,
    take(raw) {
      const message = readFromCore(raw);
      if (message?.kind === "event") events.tell(message.event);
      if (message?.kind !== "answer") return;
      const asked = waiting.get(message.id);
      waiting.delete(message.id);
      if (message.ok) asked?.resolve(message.answer);
      else asked?.reject(new Error(message.error));
    },
  };
}
