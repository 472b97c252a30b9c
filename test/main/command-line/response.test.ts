/** `response`: settings screened, drawn as plans, and an expected gain that came true. Truth: times made from a known response, without scatter but a step. */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import type { ResponseView } from "../../../src/shared/contract/judge-views.ts";
import type { Experiment } from "../../../src/shared/judge/next-experiment.ts";
import type { Plan } from "../../../src/shared/judge/plan.ts";
import { settingsOf } from "../../../src/shared/judge/settings.ts";
import { gripbook, gripbookJson } from "../../support/run-gripbook.ts";
import { addTimedRuns } from "../../support/timed-book.ts";

let folder = "";
let book = "";
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
  book = join(folder, "season.gripbook");
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

const ask = <T>(...words: string[]) => gripbookJson<T>(...words, "--book", book);

/** Quickest at a slip target of 9 %; a gain costs 0.05 s a unit. Scatter by how often the label was driven before: the same whatever order was drawn. */
function secondsOf(label: string, before: number): number {
  const { "slip target": slip, gain } = settingsOf({ label, conditions: {} });
  return 4.4 + 0.02 * ((slip?.value ?? 8) - 9) ** 2 + 0.05 * (gain?.value ?? 2) + 0.01 * ((before % 2) - 0.5);
}

/** Drives the plan as it was drawn. */
function drive({ slots }: Plan, name: string): void {
  addTimedRuns(
    book,
    slots.map(({ group, direction }, i) => ({
      label: group,
      seconds: secondsOf(group, slots.slice(0, i).filter((slot) => slot.group === group).length),
      courseDeg: direction === "back" ? 254 : 74,
    })),
    name,
    Number(name.at(-1)),
  );
}

const LENGTH = ["--usable-length", "600"];

test("from screening over centre and star points to a gain that came true", async () => {
  type Drawn = { experiment: Experiment; plan: Plan };
  const first = await ask<Drawn>("response", "--draw", "screening", "--level", "slip target=6..10 %", "gain=1..3", ...LENGTH);
  expect(first.experiment.name).toBe("2^2");
  expect(first.plan.slots).toHaveLength(8);
  expect(new Set(first.plan.slots.map(({ group }) => group)).size).toBe(4);
  drive(first.plan, "day-0");
  const screened = await ask<ResponseView>("response");
  expect(screened.response?.factors.map(({ name }) => name)).toEqual(["slip target", "gain"]);
  expect(screened.response?.factors[1]?.worth?.seconds).toBeCloseTo(0.1, 1);
  expect(screened.next?.kind).toBe("composite");

  const second = await ask<Drawn>("response", "--draw", "composite");
  expect(second.plan.request.usableLengthM).toBe(600);
  expect(second.plan.slots).toHaveLength(18);
  drive(second.plan, "day-1");
  const mapped = await ask<ResponseView>("response");
  expect(mapped.response?.terms.map(({ name }) => name)).toContain("slip target squared");
  const best = settingsOf({ label: mapped.response?.best.label ?? "", conditions: {} });
  expect(Math.abs((best["slip target"]?.value ?? 0) - 9)).toBeLessThan(0.6);
  expect(best.gain?.value).toBeLessThan(1.5);
  expect(mapped.next?.kind).toBe("confirm");

  const third = await ask<Drawn>("response", "--draw", "confirm");
  expect(third.experiment.expected?.gainS).toBeLessThan(0);
  expect((await ask<ResponseView>("response")).kept).toMatchObject([{ verdict: "open" }]);
  drive(third.plan, "day-2");
  const told = await gripbook("response", "--book", book);
  expect(told.out).toMatch(/Expected gain: .*: it came true\./);
});

test("what cannot be told, drawn or read says why", async () => {
  addTimedRuns(
    book,
    [5, 5.1, 4.8, 4.9].map((seconds, i) => ({ label: i < 2 ? "off" : "on", seconds })),
    "day-0",
    0,
  );
  expect((await ask<ResponseView>("response")).why).toContain("no setting differs between the runs");
  for (const [words, line] of [
    [["--draw", "composite"], /No response to settings yet: no setting differs/],
    [["--draw", "screening", "--level", "gain=3..1"], /Expected --level with NAME=LOW\.\.HIGH/],
    [["--draw", "screening", "--level", "gain=1..3", ...LENGTH], /Expected 2 to 7 settings to screen, got 1/],
    [["--draw", "sideways"], /Expected --draw with screening, composite, confirm/],
    [["--draw", "screening", "--level", "gain=1..3", "slip=1..3"], /usableLengthM/],
  ] as const) {
    const refused = await gripbook("response", "--book", book, ...words);
    expect(refused.code).toBe(2);
    expect(refused.err).toMatch(line);
  }
}, 120_000);
