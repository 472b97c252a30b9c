/**
 * Following the advice on the simulated car, all over the command line: a day whose control holds too little slip, the advice, the control
 * set accordingly in the plan, and the next day quicker by the promised gain. The truth of both days is the simulation's own (promised:
 * within 30 %, inside the interval).
 */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import type { NoticeView, PredictAnswer } from "../../../src/shared/contract/tune-views.ts";
import type { TuneAnswer } from "../../../src/shared/tune/tune-answer.ts";
import { gripbook, gripbookJson } from "../../support/run-gripbook.ts";

const turn = [{ kind: "drive", metres: 200, kmh: 50 }, { kind: "turn" }];
const launch = (more: object) => ({ kind: "launch", toKmh: 105, standS: 3, rampS: 0.15, grip: 1, ...more });
const off = launch({ tractionControl: false, label: "traction control off" });
const GROUP = "traction control on";
const SLIP = 0.045;

interface Truth {
  readonly runs: readonly {
    readonly label: string;
    readonly control: { readonly slip: number } | null;
    readonly gates: readonly { readonly gate: string; readonly start: string; readonly seconds: number | null }[];
  }[];
}

let folder = "";
const inFolder = (name: string) => join(folder, name);

/** Drives a day with the control set so; gives the mean true 0-60 mph of the launches under control. */
async function drive(name: string, slip: number): Promise<number> {
  const on = launch({ label: GROUP });
  const segments = [
    { kind: "gentle", seconds: 60 },
    on,
    ...turn,
    off,
    ...turn,
    on,
    ...turn,
    off,
    ...turn,
    on,
    { kind: "stand", seconds: 4 },
  ];
  writeFileSync(inFolder("plan.json"), JSON.stringify({ control: { slip }, segments }));
  await gripbookJson("simulate", "--out", inFolder(name), "--seed", "5", "--plan", inFolder("plan.json"));
  const truth = JSON.parse(readFileSync(join(inFolder(name), "truth.json"), "utf8")) as Truth;
  const on60 = truth.runs.flatMap(({ control, gates }) =>
    control === null
      ? []
      : gates.flatMap(({ gate, start, seconds }) => (gate === "0-60 mph" && start === "movement" ? [seconds ?? Number.NaN] : [])),
  );
  expect(on60).toHaveLength(3);
  return on60.reduce((sum, seconds) => sum + seconds, 0) / on60.length;
}

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

test("the next runs are quicker by what was promised", async () => {
  const before = await drive("before", SLIP);
  const logs = ["--slcan", join(inFolder("before"), "bus.slcan"), "--gnss", join(inFolder("before"), "receiver.nmea")];
  const book = inFolder("day.gripbook");
  await gripbookJson("import", "--setup", join(inFolder("before"), "setup.json"), "--book", book, ...logs);
  const { advice, groups } = await gripbookJson<TuneAnswer>("advise", "--book", book);
  const told = advice[0];
  expect(told).toMatchObject({ group: GROUP, change: "moreSlip", gainFrom: "simulation" });
  const promised = told?.expectedGainS ?? { value: Number.NaN, plusMinus95: Number.NaN };
  // What was seen of the control is what the plan set.
  const control = groups.find(({ label }) => label === GROUP)?.control;
  expect(control?.holdsSlipAt?.value).toBeCloseTo(SLIP, 2);
  expect(control?.seenEveryS).toMatchObject({ atBus: true });

  const after = await drive("after", told?.to ?? Number.NaN);
  const gained = before - after;
  expect(gained).toBeGreaterThan(0.5);
  expect(Math.abs(promised.value - gained)).toBeLessThan(0.3 * gained);
  expect(Math.abs(promised.value - gained)).toBeLessThan(promised.plusMinus95);

  const same = await gripbookJson<PredictAnswer>("predict", "--book", book, "--group", GROUP, "--slip", String(told?.to));
  expect(same.simulation).toBe(true);
  expect(same.gainS?.value).toBeCloseTo(promised.value, 9);
  expect(same.looks.map(({ perSecond }) => perSecond)).toEqual([3, 10, 50, 200, 1000]);
  const seconds = same.looks.map((look) => look.seconds ?? Number.POSITIVE_INFINITY);
  expect(seconds[0]).toBeGreaterThan((seconds[4] as number) + 0.5);

  // The launches without control spun: each way says when it would have noticed.
  const seen = await gripbookJson<NoticeView>("notice", "--book", book);
  expect(seen.ways.map(({ way }) => way)).toEqual(["acceleration", "wheels", "receiver"]);
  for (const { spins, minutes, why } of seen.ways) {
    expect(why).toBeNull();
    expect(spins).toBeGreaterThanOrEqual(2);
    expect(minutes).toBeGreaterThan(1);
  }
  const late = await gripbookJson<NoticeView>("notice", "--book", book, "--way", "wheels", "--threshold", "0.15", "--late", "0.1");
  expect(late.ways).toHaveLength(1);
  const wheels = seen.ways.find(({ way }) => way === "wheels")?.noticedAfterS?.value ?? Number.NaN;
  // Two looks either way: the later look may be the first one above the threshold that still counts.
  expect(Math.abs((late.ways[0]?.noticedAfterS?.value ?? Number.NaN) - wheels - 0.1)).toBeLessThan(0.025);
  expect((await gripbook("notice", "--book", book, "--way", "smell")).err).toBe(
    'Expected --way acceleration, wheels or receiver, got "smell"\n',
  );
  expect(await gripbook("notice", "--book", book, "--threshold", "3")).toMatchObject({ code: 2, out: "" });

  const wet = await gripbookJson<PredictAnswer>("predict", "--book", book, "--group", GROUP, "--surface", "wet");
  expect(wet).toMatchObject({ seconds: null });
  expect(wet.why).toContain("No run of this book shows the tyre on wet");
  expect(await gripbook("predict", "--book", book, "--group", "nobody")).toMatchObject({ code: 2, out: "" });
  expect((await gripbook("predict", "--book", book, "--group", GROUP, "--slip", "eleven")).err).toBe(
    'Expected --slip with a number from 0.005 to 1, got "eleven"\n',
  );
});
