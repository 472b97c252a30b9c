/** Writes the handbook's web pages into docs/site (npm run handbook); files of chapters that are gone are removed. */
import { mkdirSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { handbookSite } from "../../src/renderer/build/handbook-site.ts";
import { readHandbook } from "../../src/renderer/build/read-handbook.ts";

const docs = fileURLToPath(new URL("../../docs", import.meta.url));
const site = handbookSite(readHandbook(join(docs, "handbook")));
rmSync(join(docs, "site"), { recursive: true, force: true });
mkdirSync(join(docs, "site"));
for (const [name, text] of Object.entries(site)) writeFileSync(join(docs, "site", name), text);
console.log(`${Object.keys(site).length} files in docs/site`);
