/** Long work that several ask for at once: one progress, one Cancel for all, and what is asked after it goes on. */
import { expect, test } from "vitest";
import { CANCELLED } from "../../../../src/shared/contract/contract-error.ts";
import type { CoreEvent } from "../../../../src/shared/contract/contract.ts";
import { breathe } from "../../../../src/main/core/basics/breathe.ts";
import { stepsFor } from "../../../../src/main/core/basics/steps.ts";
import { createWorks } from "../../../../src/main/core/basics/works.ts";
import type { Listening } from "../../../../src/main/ports/set-up-desk.ts";

function bench() {
  const heard: (string | null)[] = [];
  const works = createWorks((event: CoreEvent) => event.event === "work" && heard.push(event.words));
  const work = (name: string) => async (listening: Listening) => {
    for (let i = 0; i < 5; i += 1) await stepsFor(listening)(name, i / 5);
    return name;
  };
  return { works, work, heard };
}

test("two who ask at once are both answered, and the end is told once, after both", async () => {
  const { works, work, heard } = bench();
  const first = works.share("lost", work("a"));
  await breathe();
  await breathe();
  expect(await Promise.all([first, works.share("lost", work("b"))])).toEqual(["a", "b"]);
  expect(heard.filter((words) => words === null)).toHaveLength(1);
  expect(heard.at(-1)).toBeNull();
});

test("one Cancel ends the work of both; who asks then is answered, also before the end of what was cancelled", async () => {
  const { works, work, heard } = bench();
  const asked = [works.share("lost", work("a")), works.share("lost", work("b"))].map((one) => one.catch((error: Error) => error.message));
  await breathe();
  const cancelled = works.cancel("lost");
  expect(await works.share("lost", work("c"))).toBe("c");
  await cancelled;
  expect(await Promise.all(asked)).toEqual([CANCELLED, CANCELLED]);
  expect(heard.at(-1)).toBeNull();
});

test("work that is alone in its name is refused a second time", async () => {
  const { works, work } = bench();
  const first = works.run("gates", work("a"));
  await expect(works.run("gates", work("b"))).rejects.toThrow("under way already");
  expect(await first).toBe("a");
});
