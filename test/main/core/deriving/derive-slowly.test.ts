/**
 * Deriving a closed recording lets other work run: its progress is reported, and when cancelled it says what is stored and what makes it
 * final.
 */
import { expect, test } from "vitest";
import { deriveSlowly } from "../../../../src/main/core/deriving/derive-slowly.ts";
import { createWorks } from "../../../../src/main/core/basics/works.ts";
import type { CoreEvent } from "../../../../src/shared/contract/contract.ts";

function* steps(): Generator<number, readonly number[], undefined> {
  for (let i = 1; i <= 10; i += 1) yield i / 10;
  return [7, 8];
}

function setUp(msPerLook: number) {
  const events: CoreEvent[] = [];
  const works = createWorks((event) => events.push(event));
  let nowMs = 0;
  const monotonicNs = () => {
    nowMs += msPerLook;
    return nowMs * 1e6;
  };
  const clock = { monotonicNs, utcUs: () => 0, uptimeS: () => 0 };
  const told = () => events.flatMap((event) => (event.event === "work" ? [event] : []));
  return { works, clock, told };
}

test("deriveSlowly() tells its share and gives what the steps come to", async () => {
  const { works, clock, told } = setUp(15);
  expect(await deriveSlowly(steps(), { works, clock })).toEqual([7, 8]);
  expect(told().every((event) => event.work === "closing")).toBe(true);
  const shares = told().flatMap(({ share }) => (share === null ? [] : [share]));
  expect(shares.length).toBeGreaterThan(3);
  expect(shares).toEqual([...shares].sort((a, b) => a - b));
  expect(told().at(-1)).toMatchObject({ words: null });
});

test("deriveSlowly() says nothing of work that is over in a moment", async () => {
  const { works, clock, told } = setUp(0.1);
  expect(await deriveSlowly(steps(), { works, clock })).toEqual([7, 8]);
  expect(told()).toHaveLength(1);
});

test("deriveSlowly() cancelled leaves the runs provisional and says what makes them final", async () => {
  const { works, clock } = setUp(15);
  const asked = deriveSlowly(steps(), { works, clock });
  const refused = expect(asked).rejects.toThrow(/^Cancelled: the recording is stored and closed.*rederive/);
  await works.cancel("closing");
  await refused;
});
