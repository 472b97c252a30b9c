/** `npm run desktop`: builds what electron-builder packs: screens, window program and the licences, into out. Throws what Vite or the disk throws. */
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { buildShell } from "../src/main/hosts/electron/shell-build.ts";
import { ensureScreens } from "../src/main/hosts/screens-build.ts";
import { licencesText } from "./licences.ts";

const root = fileURLToPath(new URL("..", import.meta.url));
await ensureScreens(root);
await buildShell(root);
writeFileSync(join(root, "out/LICENCES.txt"), licencesText(root));
