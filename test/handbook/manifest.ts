/** What each picture of the handbook was drawn from, as docs/handbook/pictures/pictures.json keeps it. A missing file throws. */
import { readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import type { PageName } from "../../src/renderer/screen/page-name.ts";

/** By file name. */
export type Manifest = Readonly<Record<string, { readonly page: PageName; readonly sources: string; readonly picture: string }>>;

export const MANIFEST = fileURLToPath(new URL("../../docs/handbook/pictures/pictures.json", import.meta.url));

export const readManifest = (): Manifest => JSON.parse(readFileSync(MANIFEST, "utf8")) as Manifest;
