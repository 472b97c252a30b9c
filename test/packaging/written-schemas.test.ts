/** The JSON Schemas in docs/schema are those that the code's types give today: `npm run check` looks too, as the first line of a type's comment stands in them. */
import { readdirSync, readFileSync } from "node:fs";
import { expect, test } from "vitest";
import { answerSchemas } from "../../packaging/answer-schemas.ts";
import { setUpJsonSchema } from "../../packaging/set-up-schema.ts";

const FOLDER = "docs/schema";
const written = (name: string): unknown => JSON.parse(readFileSync(`${FOLDER}/${name}.schema.json`, "utf8"));
const plain = (schema: object): unknown => JSON.parse(JSON.stringify(schema));

test("the set-up's schema: npm run schemas writes it anew", () => {
  expect(written("set-up")).toEqual(plain(setUpJsonSchema()));
});

test("the answers' schemas, one for each command: npm run schemas writes them anew", () => {
  const given = Object.entries(answerSchemas());
  expect(readdirSync(`${FOLDER}/answers`).sort()).toEqual(given.map(([command]) => `${command}.schema.json`).sort());
  for (const [command, schema] of given) expect(written(`answers/${command}`), command).toEqual(plain(schema));
});
