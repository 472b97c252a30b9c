/** Questions that take long: what waits is answered once, what changed begins anew, what nobody wants ends. */
import fc from "fast-check";
import { expect, test } from "vitest";
import { breathe } from "../../../../src/main/core/basics/breathe.ts";
import { createSharedAnswers } from "../../../../src/main/core/basics/shared-answers.ts";

/** Work of five steps on a book whose version a test changes; it answers with the version that it saw last. */
function bench() {
  const told: string[] = [];
  const begun: string[] = [];
  const book = { version: 1 };
  const answers = createSharedAnswers<string, string>({
    keyOf: (question) => question,
    version: () => book.version,
    async work(question, { signal, onStep }) {
      begun.push(question);
      if (question === "wrong") throw new RangeError("cannot be asked");
      const seen = book.version;
      for (let step = 1; step <= 5; step += 1) {
        await breathe();
        signal.throwIfAborted();
        onStep("working", step / 5);
      }
      return `${question} of ${seen}`;
    },
    answered: (id, answer) => told.push(`${id}: ${answer}`),
    failed: (id, error) => told.push(`${id}: ${(error as Error).message}`),
    step: () => undefined,
  });
  const settle = async () => {
    for (let i = 0; i < 60; i += 1) await breathe();
  };
  return { answers, book, told, begun, settle };
}

test("the same question asked five times while another is worked out is worked out once", async () => {
  const { answers, told, begun, settle } = bench();
  answers.ask(0, "run 3");
  for (let id = 1; id <= 5; id += 1) answers.ask(id, "all");
  await settle();
  expect(begun).toEqual(["run 3", "all"]);
  expect(told).toEqual(["0: run 3 of 1", ...[1, 2, 3, 4, 5].map((id) => `${id}: all of 1`)]);
});

test("asked again while it is worked out: joined where nothing changed, begun anew where something did", async () => {
  const { answers, book, told, begun, settle } = bench();
  answers.ask(1, "all");
  await breathe();
  answers.ask(2, "all");
  await breathe();
  book.version = 2;
  answers.ask(3, "all");
  await settle();
  expect(begun).toEqual(["all", "all"]);
  expect(told.sort()).toEqual(["1: all of 2", "2: all of 2", "3: all of 2"]);
});

test("after a change another question is answered first, and what was being worked out begins anew behind it", async () => {
  const { answers, book, told, begun, settle } = bench();
  answers.ask(1, "run 3");
  await breathe();
  book.version = 2;
  answers.ask(2, "all");
  await settle();
  expect(begun).toEqual(["run 3", "all", "run 3"]);
  expect(told).toEqual(["2: all of 2", "1: run 3 of 2"]);
});

test("what nobody wants any more ends, and a failure is told to who asked it alone", async () => {
  const { answers, told, begun, settle } = bench();
  answers.ask(1, "all");
  answers.ask(2, "wrong");
  answers.ask(3, "run 3");
  answers.cancel(3);
  await breathe();
  answers.cancel(1);
  answers.ask(4, "run 4");
  await settle();
  expect(begun).toEqual(["all", "wrong", "run 4"]);
  expect(told).toEqual(["2: cannot be asked", "4: run 4 of 1"]);
});

test("every question is told exactly one answer, of a version not older than when it was asked, unless it was cancelled", async () => {
  const act = fc.record({ act: fc.constantFrom("ask", "ask", "change", "cancel", "wait"), of: fc.constantFrom("all", "run 3", "wrong") });
  await fc.assert(
    fc.asyncProperty(fc.array(act, { maxLength: 30 }), async (acts) => {
      const { answers, book, told, settle } = bench();
      const asked = new Map<number, { readonly of: string; readonly version: number }>();
      for (const [id, { act: what, of }] of acts.entries()) {
        if (what === "ask") {
          asked.set(id, { of, version: book.version });
          answers.ask(id, of);
        } else if (what === "change") book.version += 1;
        else if (what === "wait") await breathe();
        else {
          const [last] = [...asked.keys()].slice(-1);
          if (last === undefined || told.some((line) => line.startsWith(`${last}: `))) continue;
          answers.cancel(last);
          asked.delete(last);
        }
      }
      for (let i = 0; i < acts.length; i += 1) await settle();
      expect(told.map((line) => Number(line.split(":")[0])).sort((a, b) => a - b)).toEqual([...asked.keys()].sort((a, b) => a - b));
      for (const line of told) {
        const [id, answer] = line.split(": ") as [string, string];
        const { of, version } = asked.get(Number(id)) as { of: string; version: number };
        if (of === "wrong") expect(answer).toBe("cannot be asked");
        else expect(Number(/^(.*) of (\d+)$/.exec(answer)?.[2])).toBeGreaterThanOrEqual(version);
      }
    }),
    { numRuns: 150 },
  );
});
