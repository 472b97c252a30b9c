/**
 * Long answers, worked out one after the other in the order asked. A question that waits already is answered together with the same one; what is
 * being worked out is put behind and begins anew, if something changed since it began: nobody waits for an answer about what was. Never throws: a failure is told to whoever asked.
 */
import type { Listening } from "../../ports/set-up-desk.ts";

export interface SharedAnswers<Question> {
  ask(id: number, question: Question): void;
  /** Whoever asked wants it no more; when nobody does, the work ends. */
  cancel(id: number): void;
}

export interface SharedAnswersOptions<Question, Answer> {
  keyOf(question: Question): string;
  /** Another value after every change of what answers are about, and no other: compared with ===. */
  version(question: Question): unknown;
  work(question: Question, listening: Listening): Promise<Answer>;
  answered(id: number, answer: Answer): void;
  failed(id: number, error: unknown): void;
  step(id: number, words: string, share: number): void;
}

interface Asked<Question> {
  readonly question: Question;
  readonly ids: Set<number>;
  readonly controller: AbortController;
  version: unknown;
}

export function createSharedAnswers<Question, Answer>(options: SharedAnswersOptions<Question, Answer>): SharedAnswers<Question> {
  /** In the order asked. */
  const waiting = new Map<string, Asked<Question>>();
  let now: { readonly key: string; readonly asked: Asked<Question> } | null = null;

  async function answer({ question, ids, controller }: Asked<Question>): Promise<void> {
    // Those behind it wait for it too.
    const onStep = (words: string, share: number) => {
      for (const one of [ids, ...[...waiting.values()].map((later) => later.ids)]) for (const id of one) options.step(id, words, share);
    };
    try {
      const found = await options.work(question, { signal: controller.signal, onStep });
      for (const id of ids) options.answered(id, found);
    } catch (error) {
      // Of an aborted one nobody is left, or all wait for the next.
      for (const id of ids) options.failed(id, error);
    }
  }

  async function workAll(): Promise<void> {
    for (let next = waiting.entries().next(); !next.done; next = waiting.entries().next()) {
      const [key, asked] = next.value;
      waiting.delete(key);
      now = { key, asked };
      asked.version = versionOf(asked.question);
      await answer(asked);
      now = null;
    }
  }

  /** A book that cannot be read now says so when its turn comes. */
  function versionOf(question: Question): unknown {
    try {
      return options.version(question);
    } catch {
      return Symbol("unknown");
    }
  }

  function wait(key: string, question: Question, ids: Iterable<number>): void {
    const known = waiting.get(key);
    if (known === undefined) waiting.set(key, { question, ids: new Set(ids), controller: new AbortController(), version: null });
    else for (const id of ids) known.ids.add(id);
  }

  return {
    ask(id, question) {
      const key = options.keyOf(question);
      const going = now === null || now.asked.controller.signal.aborted ? null : now;
      const isOld = going !== null && going.asked.version !== versionOf(question);
      if (going?.key === key && !isOld) {
        going.asked.ids.add(id);
        return;
      }
      wait(key, question, [id]);
      if (isOld) {
        wait(going.key, going.asked.question, going.asked.ids);
        going.asked.ids.clear();
        going.asked.controller.abort(new RangeError("something changed: it begins anew"));
      }
      if (now === null) void workAll();
    },
    cancel(id) {
      for (const [key, { ids }] of waiting) if (ids.delete(id) && ids.size === 0) waiting.delete(key);
      if (now?.asked.ids.delete(id) && now.asked.ids.size === 0) now.asked.controller.abort(new RangeError("nobody waits for it"));
    },
  };
}
