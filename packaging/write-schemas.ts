/** `npm run schemas`: writes the JSON Schemas of files that people write into docs/schema. Throws what the disk throws. */
import { mkdirSync, writeFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { setUpJsonSchema } from "./set-up-schema.ts";

const folder = fileURLToPath(new URL("../docs/schema/", import.meta.url));
mkdirSync(folder, { recursive: true });
writeFileSync(`${folder}set-up.schema.json`, `${JSON.stringify(setUpJsonSchema(), null, 2)}\n`);
