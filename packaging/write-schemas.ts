/** `npm run schemas`: writes the JSON Schemas of files that people write, and of what the command line answers, into docs/schema. Throws what the disk throws. */
import { mkdirSync, rmSync, writeFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { answerSchemas } from "./answer-schemas.ts";
import { setUpJsonSchema } from "./set-up-schema.ts";

const folder = fileURLToPath(new URL("../docs/schema/", import.meta.url));
const write = (name: string, schema: object) => writeFileSync(`${folder}${name}.schema.json`, `${JSON.stringify(schema, null, 2)}\n`);

// Of a command that is gone none stays.
rmSync(`${folder}answers`, { recursive: true, force: true });
mkdirSync(`${folder}answers`, { recursive: true });
write("set-up", setUpJsonSchema());
for (const [command, schema] of Object.entries(answerSchemas())) write(`answers/${command}`, schema);
