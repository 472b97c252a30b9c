/**
 * Logs that a person corrected and imported again, mixed up, or that are empty: what `import` says about them, and what it keeps out of a
 * book. Truth: the simulator wrote two launches.
 */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import type { RunRow } from "../../../src/shared/contract/contract.ts";
import { gripbook, gripbookJson } from "../../support/run-gripbook.ts";

const SHORT_DAY = {
  segments: [
    { kind: "gentle", seconds: 45 },
    { kind: "launch", toKmh: 105, standS: 3, tractionControl: false },
    { kind: "launch", toKmh: 105, standS: 3 },
    { kind: "stand", seconds: 4 },
  ],
};

let folder = "";
const inFolder = (name: string) => join(folder, name);

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
  writeFileSync(inFolder("plan.json"), JSON.stringify(SHORT_DAY));
  await gripbookJson("simulate", "--out", folder, "--seed", "6", "--plan", inFolder("plan.json"));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

test("a log that was mended and imported again adds no launch twice: the same ones are known, and set aside", async () => {
  const [mended, other] = [inFolder("mended.slcan"), inFolder("mended.gripbook")];
  const lines = readFileSync(inFolder("bus.slcan"), "utf8").split("\n");
  writeFileSync(mended, [...lines.slice(0, 40), ...lines.slice(41)].join("\n"));
  const into = (log: string) =>
    gripbook("import", "--setup", inFolder("setup.json"), "--book", other, "--slcan", log, "--gnss", inFolder("receiver.nmea"));
  expect((await into(inFolder("bus.slcan"))).code).toBe(0);
  const { code, err } = await into(mended);
  expect(code).toBe(0);
  expect(err).toMatch(/^Run 3 is set aside: The same launch as run 1, imported once more: only one of them may count$/m);
  expect(err).toMatch(/^Run 4 is set aside: The same launch as run 2/m);
  const rows = await gripbookJson<RunRow[]>("runs", "--book", other);
  expect(rows.map(({ use }) => use)).toEqual([true, true, false, false]);
});

test("logs that cannot be of one drive, or are empty, are refused in words before anything is stored", async () => {
  const [shifted, empty, none] = [inFolder("shifted.nmea"), inFolder("empty.nmea"), inFolder("none.gripbook")];
  const receiver = readFileSync(inFolder("receiver.nmea"), "utf8");
  writeFileSync(
    shifted,
    receiver.replace(/^\((\d+)/gm, (_, seconds: string) => `(${Number(seconds) + 3600}`),
  );
  writeFileSync(empty, "");
  const from = (gnss: string) =>
    gripbook("import", "--setup", inFolder("setup.json"), "--book", none, "--slcan", inFolder("bus.slcan"), "--gnss", gnss);
  expect(await from(shifted)).toMatchObject({
    code: 2,
    err: expect.stringMatching(/they share no moment, their beginnings are 1\.00 h apart/),
  });
  expect(await from(empty)).toMatchObject({
    code: 2,
    err: expect.stringMatching(/empty\.nmea: holds no line; without the receiver nothing/),
  });
  expect(await gripbookJson("runs", "--book", none)).toEqual([]);
});
