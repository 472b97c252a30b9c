/**
 * The connection from the web host's process through the launcher to the core. The launcher answers every request, with the reason where it
 * cannot; unknown messages are dropped.
 */
import type { CoreLink } from "../core-process.ts";
import { readFromCore } from "../core-messages.ts";
import { createStandingEvents } from "../standing-events.ts";
import { createWaitingAnswers } from "../waiting-answers.ts";
import type { FromHost } from "./host-messages.ts";

export interface CoreOverLauncher extends CoreLink {
  /** Handles a message from the launcher. */
  take(message: unknown): void;
}

export function coreOverLauncher(send: (message: FromHost) => void): CoreOverLauncher {
  const events = createStandingEvents();
  const waiting = createWaitingAnswers();
  return {
    request(name, argument) {
      const { id, answer } = waiting.begin();
      send({ kind: "request", id, name, argument });
      return answer;
    },
    onEvent: events.onEvent,
    take(raw) {
      const message = readFromCore(raw);
      if (message?.kind === "event") events.tell(message.event);
      if (message?.kind === "answer") waiting.settle(message);
    },
  };
}
