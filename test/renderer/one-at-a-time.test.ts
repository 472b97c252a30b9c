/** A season's edit tells of hundreds of runs at once: the list is read again once, not hundreds of times. */
import { expect, test } from "vitest";
import { oneAtATime } from "../../src/renderer/app/one-at-a-time.ts";

function held() {
  const rounds: { done(): void; fail(error: Error): void }[] = [];
  const work = oneAtATime(
    () =>
      new Promise<void>((resolve, reject) => {
        rounds.push({ done: resolve, fail: reject });
      }),
  );
  return { rounds, work };
}
const finish = async (waiting: Promise<void>, round: { done(): void } | undefined) => {
  round?.done();
  await waiting;
};

test("600 calls while one round is going on are one further round, and each is answered after it", async () => {
  const { rounds, work } = held();
  const first = work();
  const rest = Array.from({ length: 600 }, () => work());
  expect(rounds).toHaveLength(1);
  await finish(first, rounds[0]);
  await Promise.resolve();
  expect(rounds).toHaveLength(2);
  rounds[1]?.done();
  await Promise.all(rest);
  const last = work();
  expect(rounds).toHaveLength(3);
  await finish(last, rounds[2]);
});

test("a failed round rejects for its own callers alone", async () => {
  const { rounds, work } = held();
  const first = work();
  const second = work();
  rounds[0]?.fail(new Error("The book is away"));
  await expect(first).rejects.toThrow("The book is away");
  await Promise.resolve();
  await finish(second, rounds[1]);
  await finish(work(), { done: () => rounds[2]?.done() });
});
