/** By the JSON Schema of the set-up file an independent validator (Ajv) takes what the program takes, and refuses what it refuses. */
import { readFileSync } from "node:fs";
import { Ajv2020 } from "ajv/dist/2020.js";
import { expect, test } from "vitest";
import { checkDraft, checkSetUp } from "../../src/shared/setup/check-set-up.ts";
import { simulatedSetUp } from "../../src/main/core/deriving/simulated-day.ts";
import { draftText } from "../../src/shared/setup/set-up-text.ts";

const written = JSON.parse(readFileSync("docs/schema/set-up.schema.json", "utf8"));
const validate = new Ajv2020({ strict: true, allErrors: true, strictRequired: false }).compile(written);

/** The set-up that README shows. */
const shown = JSON.parse((/\{\n {9}"car"[\s\S]*?\n {7}\}/.exec(readFileSync("README.md", "utf8").replace("       {", "{")) ?? [""])[0]);
type Shown = Record<string, Record<string, unknown>>;
const changed = (change: (setUp: Shown) => void) => {
  const copy = structuredClone(shown) as Shown;
  change(copy);
  return copy;
};

test.each<[string, unknown]>([
  ["as README shows it", shown],
  ["of the simulated car, as the screens would write it", JSON.parse(draftText(simulatedSetUp().setUp))],
  ["with the address of this schema, for editors", { $schema: "docs/schema/set-up.schema.json", ...shown }],
  [
    "with a list of signal files, wheels and an inverted signal",
    changed((setUp) => {
      Object.assign(setUp, { database: ["a.dbc", "b.dbc"] });
      Object.assign(setUp.signals as object, {
        torqueRequest: { signal: "Motor.Asked", invert: true },
        undrivenWheelSpeeds: ["W.FL", "W.FR"],
      });
    }),
  ],
  [
    "with a receiver in the network and a CAN interface",
    changed((setUp) => Object.assign(setUp, { sources: { gnss: { udp: 10_110, from: "192.168.1.7" }, can: { socketcan: "can0" } } })),
  ],
])("a set-up %s is taken by both", (_, setUp) => {
  expect(() => checkSetUp(setUp)).not.toThrow();
  expect(validate(setUp), JSON.stringify(validate.errors)).toBe(true);
});

test.each<[string, (setUp: Shown) => void]>([
  ["an unknown key", (setUp) => Object.assign(setUp, { colour: "red" })],
  ["no car", (setUp) => delete setUp.car],
  ["a mass in tonnes", (setUp) => Object.assign(setUp.car as object, { massKg: 1.48 })],
  ["a mass as text", (setUp) => Object.assign(setUp.car as object, { massKg: "1480" })],
  ["two driven axles", (setUp) => Object.assign(setUp.car as object, { drivenAxle: "both" })],
  ["neither tyre nor radius", (setUp) => delete (setUp.car as Record<string, unknown>).tyre],
  ["a bit rate that no adapter sets", (setUp) => Object.assign((setUp.sources as Shown).can as object, { bitrate: 333_000 })],
  ["a baud with a fraction", (setUp) => Object.assign((setUp.sources as Shown).gnss as object, { baud: 9600.5 })],
  ["a port and an address for one receiver", (setUp) => Object.assign(setUp.sources.gnss as object, { udp: 10_110 })],
  ["a sender that is no address", (setUp) => Object.assign(setUp.sources, { gnss: { udp: 10_110, from: "laptop" } })],
  ["an empty list of signal files", (setUp) => Object.assign(setUp, { database: [] })],
  ["a signal without its message", (setUp) => Object.assign(setUp.signals as object, { pedal: "Pedal" })],
  ["a list where one signal belongs", (setUp) => Object.assign(setUp.signals as object, { pedal: ["Driver.Pedal"] })],
  ["no motor speed", (setUp) => delete (setUp.signals as Record<string, unknown>).motorSpeed],
  ["a role that nobody knows", (setUp) => Object.assign(setUp.signals as object, { mood: "Driver.Mood" })],
])("a set-up with %s is refused by both", (_, change) => {
  const setUp = changed(change);
  expect(() => checkSetUp(setUp)).toThrow();
  expect(validate(setUp)).toBe(false);
});

test("the address of the schema is no part of what the program works with, and stays in the file that the screens write", () => {
  const $schema = "docs/schema/set-up.schema.json";
  expect(checkSetUp({ $schema, ...shown })).toEqual(checkSetUp(shown));
  expect(JSON.parse(draftText(checkDraft({ $schema, ...shown })))).toMatchObject({ $schema });
});
