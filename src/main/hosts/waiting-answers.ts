/** Requests that wait for the core's answer, by number. An answer to an unknown number is dropped. */
import type { FromCore } from "./core-messages.ts";

export interface WaitingAnswers {
  begin(): { readonly id: number; readonly answer: Promise<unknown> };
  settle(message: Extract<FromCore, { readonly kind: "answer" }>): void;
  rejectAll(error: Error): void;
}

export function createWaitingAnswers(): WaitingAnswers {
  const waiting = new Map<number, { resolve(answer: unknown): void; reject(error: Error): void }>();
  let nextId = 1;
  return {
    begin() {
      const id = nextId++;
      return { id, answer: new Promise((resolve, reject) => waiting.set(id, { resolve, reject })) };
    },
    settle(message) {
      const asked = waiting.get(message.id);
      waiting.delete(message.id);
      if (message.ok) asked?.resolve(message.answer);
      else asked?.reject(new Error(message.error));
    },
    rejectAll(error) {
      for (const asked of waiting.values()) asked.reject(error);
      waiting.clear();
    },
  };
}
