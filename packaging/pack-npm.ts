/** `npm run pack:npm`: the package for npm, as out/package/gripbook-VERSION.tgz. Exits with npm's code where npm fails. */
import { spawnSync } from "node:child_process";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { layNpmFolder } from "./npm-folder.ts";

const root = fileURLToPath(new URL("..", import.meta.url));
const out = join(root, "out/package");

const folder = await layNpmFolder(root, join(out, "npm"));
const { status } = spawnSync("npm", ["pack", "--pack-destination", out], {
  cwd: folder,
  stdio: "inherit",
  shell: process.platform === "win32",
});
process.exitCode = status ?? 1;
