/**
 * What a page on the local network may ask of a real core: every request of the contract is tried. What is let through leaves the book and
 * the set-up as they were (SQLite tells other connections of every commit: "PRAGMA data_version") and tells no position (the receiver's own
 * sentences are the reference: NMEA 0183, RMC).
 */
import Database from "better-sqlite3";
import { afterAll, beforeAll, expect, test } from "vitest";
import type { CoreLink } from "../../../src/main/hosts/core-process.ts";
import { onlyShowing } from "../../../src/main/hosts/network/only-showing.ts";
import { type CoreRequestName, REQUESTS, type RequestArgument, type RequestName } from "../../../src/shared/contract/contract.ts";
import { ONLY_SHOWS, type REACH } from "../../../src/shared/contract/reach.ts";
import { type WiredCar, wireCar } from "../../support/wired-car.ts";

type Shown = { [N in RequestName]: (typeof REACH)[N] extends "shows" ? N : never }[RequestName];

/** A question of each kind that is let through. A new one does not compile without. */
const QUESTIONS: { readonly [N in Shown]: RequestArgument<N> } = {
  "book.open": {},
  "runs.list": {},
  "run.show": { run: 1 },
  "run.columns": { run: 1 },
  "runs.chosen": {},
  "before.read": {},
  "compare.read": { groups: ["off", "on"] },
  "response.read": {},
  "tune.read": {},
  "tune.run": { run: 1 },
  "tune.spin": {},
  "plan.read": {},
  "report.html": { groups: ["off", "on"] },
  "wiring.read": {},
  "car.read": {},
};
const NAMES = Object.keys(REQUESTS) as RequestName[];

let car: WiredCar;
let core: CoreLink;
let asked: string[] = [];
beforeAll(async () => {
  car = await wireCar([
    { kind: "stand", seconds: 2 },
    { kind: "gentle", seconds: 40 },
    { kind: "launch", standS: 3, toKmh: 105 },
    { kind: "stand", seconds: 5 },
    { kind: "launch", standS: 3, toKmh: 105 },
    { kind: "stand", seconds: 8 },
  ]);
  await car.ask("drive.arm", { label: "on" });
  car.driveFor(110);
  await car.ask("runs.edit", { edits: [{ run: 1, label: "off" }] });
  core = {
    request(name, argument) {
      asked.push(name);
      return car.ask(name as CoreRequestName, argument);
    },
    onEvent: () => () => undefined,
  };
});
afterAll(() => car.end());

test("every request that does not only show is refused in one sentence, whatever its argument, and does not reach the core", async () => {
  asked = [];
  const others = NAMES.filter((name) => !Object.hasOwn(QUESTIONS, name));
  for (const name of [...others, "__proto__", "toString", "drive.ARM", "", "host.pass"])
    for (const argument of [{}, { run: 1 }, { label: "x" }, null])
      await expect(onlyShowing(core).request(name, argument), name).rejects.toThrow(ONLY_SHOWS);
  expect(asked).toEqual([]);
  expect(others.length).toBeGreaterThan(30);
  expect(others).toEqual(expect.arrayContaining(["drive.arm", "drive.abort", "drive.label", "runs.edit", "network.on"]));
});

/** Of a degree: a tenth of a metre. Coarser ones meet other figures, as the drive begins near 30 S 20 W. */
const DIGITS = 6;

/** Every number and text in an answer. */
function* leaves(value: unknown): Generator<number | string> {
  if (typeof value === "number" || typeof value === "string") yield value;
  else if (ArrayBuffer.isView(value)) yield* value as unknown as Float32Array;
  else if (typeof value === "object" && value !== null) for (const inner of Object.values(value)) yield* leaves(inner);
}

/** ddmm.mmmm to degrees. */
const degrees = (text = "") => {
  const at = text.indexOf(".") - 2;
  return Number(text.slice(0, at)) + Number(text.slice(at)) / 60;
};

test("what is let through is answered, changes neither book nor set-up, and tells no position", async () => {
  const other = new Database(car.book.file, { readonly: true });
  const version = () => other.pragma("data_version", { simple: true });
  // As a recording's own writing changes it, nothing arrives meanwhile.
  const before = version();
  const setUp = await car.ask("setup.read");
  const positions = new Set<string>();
  for (const { stream, bytes } of car.book.packets(1)) {
    if (stream !== "gnss") continue;
    for (const [, lat, lon] of Buffer.from(bytes)
      .toString("latin1")
      .matchAll(/RMC,[^,]*,A,([\d.]+),[NS],([\d.]+),[EW]/g))
      for (const value of [degrees(lat), degrees(lon)]) positions.add(value.toFixed(DIGITS));
  }
  expect(positions.size).toBeGreaterThan(10);
  for (const name of Object.keys(QUESTIONS) as Shown[]) {
    const answer = await onlyShowing(core).request(name, QUESTIONS[name]);
    const all = [...leaves(answer)];
    expect(all.length, name).toBeGreaterThan(name === "run.columns" ? 1000 : 1);
    expect(
      all.filter((one) => typeof one === "number" && positions.has(Math.abs(one).toFixed(DIGITS))),
      name,
    ).toEqual([]);
    const said = all.filter((one) => typeof one === "string").flatMap((one) => one.match(/\d+\.\d{6,}/g) ?? []);
    expect(
      said.filter((one) => positions.has(Number(one).toFixed(DIGITS))),
      name,
    ).toEqual([]);
  }
  expect(version()).toBe(before);
  expect(await car.ask("setup.read")).toEqual(setUp);
  other.close();
});

test("a question of another form is refused before the core sees it", async () => {
  asked = [];
  await expect(onlyShowing(core).request("run.show", { run: "1" })).rejects.toThrow(/^Request run\.show: run: /);
  await expect(onlyShowing(core).request("run.show", { run: 1, label: "x" })).rejects.toThrow(/label/);
  expect(asked).toEqual([]);
});
