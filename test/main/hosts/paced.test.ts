/** What comes from the network leaves measuring its time, whoever asks and how much: asked at once, answered one by one, with a rest after each. */
import { expect, test } from "vitest";
import { paced } from "../../../src/main/hosts/network/paced.ts";

test("questions asked at once are answered one after another, in their order, with a rest as long as each took, of at most a second", async () => {
  let nowMs = 0;
  const told: string[] = [];
  const takes: Readonly<Record<string, number>> = { a: 20, b: 300, wrong: 50, long: 9_000, c: 0 };
  let atOnce = 0;
  const core = paced(
    {
      async request(name) {
        atOnce += 1;
        expect(atOnce).toBe(1);
        await Promise.resolve();
        nowMs += takes[name] ?? 0;
        told.push(name);
        atOnce -= 1;
        if (name === "wrong") throw new Error("Run 9 is not in this book");
        return name;
      },
      onEvent: () => () => undefined,
    },
    () => nowMs,
    async (ms) => {
      told.push(`${ms} ms`);
    },
  );
  const answers = await Promise.allSettled(Object.keys(takes).map((name) => core.request(name, {})));
  expect(answers.map(({ status }) => status)).toEqual(["fulfilled", "fulfilled", "rejected", "fulfilled", "fulfilled"]);
  expect(told.filter((one) => one !== "0 ms")).toEqual(["a", "20 ms", "b", "300 ms", "wrong", "50 ms", "long", "1000 ms", "c"]);
});

test("a crowd of questions does not grow without end: the 65th that waits is refused", async () => {
  let release: (answer: string) => void = () => undefined;
  const core = paced({
    request: () =>
      new Promise((resolve) => {
        release = resolve;
      }),
    onEvent: () => () => undefined,
  });
  void core.request("first", {});
  await Promise.resolve();
  const more = Array.from({ length: 65 }, () => core.request("more", {}));
  await expect(more[64]).rejects.toThrow("Too much is asked from the network");
  expect(release).toBeTypeOf("function");
});
