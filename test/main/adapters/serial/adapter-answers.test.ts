/** An answer that came while this process stood still is an answer, not silence. SLCAN answers: docs/check-values.md, SLCAN. */
import { expect, test } from "vitest";
import { createAdapterAnswers } from "../../../../src/main/adapters/serial/adapter-answers.ts";

const REFUSED = Uint8Array.of(0x07);

test("a process that stood still for longer than its patience reads what came meanwhile", async () => {
  const answers = createAdapterAnswers();
  const line = { send: async () => undefined };
  const asked = answers.ask(line as never, "L", 300, new AbortController().signal);
  await new Promise<void>((resolve) => setImmediate(resolve));
  // The bytes come a little after the patience by the clock; nothing runs until then.
  setTimeout(() => answers.take(REFUSED), 310);
  Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, 600);
  expect(await asked).toBe("refused");
});

test("silence is told after the patience, and the signal ends the wait", async () => {
  const answers = createAdapterAnswers();
  const line = { send: async () => undefined };
  expect(await answers.ask(line as never, "L", 120, new AbortController().signal)).toBe("silent");
  const ended = new AbortController();
  const asked = answers.ask(line as never, "C", 60_000, ended.signal);
  ended.abort(new Error("closed"));
  await expect(asked).rejects.toThrow("closed");
});
