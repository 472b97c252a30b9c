/** Prints one after another, in the order asked, with a bound on those that wait. */
import { expect, test } from "vitest";
import { createPrintQueue } from "../../../src/main/hosts/print-queue.ts";

function handPrinter() {
  const running: { html: string; done: (bytes?: Uint8Array) => void; fail: (error: Error) => void }[] = [];
  let most = 0;
  let now = 0;
  const print = createPrintQueue(async (html) => {
    now += 1;
    most = Math.max(most, now);
    try {
      return await new Promise<Uint8Array>((resolve, reject) =>
        running.push({ html, done: (bytes = new TextEncoder().encode(html)) => resolve(bytes), fail: reject }),
      );
    } finally {
      now -= 1;
    }
  });
  return { print, running, most: () => most };
}

const NEVER = new AbortController().signal;
const settled = () => new Promise((resolve) => setImmediate(resolve));
const text = async (printed: Promise<Uint8Array>) => new TextDecoder().decode(await printed);

test("createPrintQueue() prints one at a time, in order, and goes on after one that fails", async () => {
  const { print, running, most } = handPrinter();
  const [a, b, c] = ["a", "b", "c"].map((html) => text(print(html, "pdf", NEVER))) as [Promise<string>, Promise<string>, Promise<string>];
  b.catch(() => undefined);
  await settled();
  expect(running.map(({ html }) => html)).toEqual(["a"]);
  running[0]?.done();
  expect(await a).toBe("a");
  await settled();
  running[1]?.fail(new Error("no browser"));
  await expect(b).rejects.toThrow("no browser");
  await settled();
  running[2]?.done();
  expect(await c).toBe("c");
  expect(most()).toBe(1);
});

test("createPrintQueue() refuses beyond four that wait, in words, and takes more once there is room", async () => {
  const { print, running } = handPrinter();
  const asked = ["1", "2", "3", "4", "5"].map((html) => text(print(html, "png", NEVER)));
  await settled();
  await expect(print("6", "png", NEVER)).rejects.toThrow(
    "Printing: 5 reports are being printed already; save this one again when they are done",
  );
  for (let i = 0; i < 5; i += 1) {
    running[i]?.done();
    expect(await asked[i]).toBe(String(i + 1));
    await settled();
  }
  const last = text(print("7", "png", NEVER));
  await settled();
  running[5]?.done();
  expect(await last).toBe("7");
});

test("createPrintQueue() lets one leave that nobody waits for any more", async () => {
  const { print, running } = handPrinter();
  const first = text(print("first", "pdf", NEVER));
  const gone = new AbortController();
  const waiting = print("waiting", "pdf", gone.signal);
  const next = text(print("next", "pdf", NEVER));
  gone.abort(new RangeError("Printing was cancelled"));
  await expect(waiting).rejects.toThrow("Printing was cancelled");
  await settled();
  running[0]?.done();
  expect(await first).toBe("first");
  await settled();
  expect(running.map(({ html }) => html)).toEqual(["first", "next"]);
  running[1]?.done();
  expect(await next).toBe("next");
  await expect(print("late", "pdf", gone.signal)).rejects.toThrow("Printing was cancelled");
});
