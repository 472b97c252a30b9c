/**
 * `npm run pack:deb`: Gripbook without a window as a Debian package, out/package/gripbook-headless_VERSION_ARCH.deb: the npm package's folder, the
 * packages that it stands on and a Node, with desktop entry, icon, book type and udev rule. Asks npm's registry for Node alone. Throws one line where a tool fails.
 */
import { spawnSync } from "node:child_process";
import { chmodSync, cpSync, mkdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { gzipSync } from "node:zlib";
import { shippedFolders } from "./licences.ts";
import { BESIDE, layNpmFolder, readManifest } from "./npm-folder.ts";

const root = fileURLToPath(new URL("..", import.meta.url));
const out = join(root, "out/package");
const NAME = "gripbook-headless";
/** Debian's name for what Node calls x64. */
const ARCH = process.arch === "x64" ? "amd64" : process.arch;
const HOME = "usr/lib/gripbook";
const DOCUMENTS = `usr/share/doc/${NAME}`;
/** Of a native package: not its source, not the binaries of other systems. */
const OTHERS = new RegExp(
  `better-sqlite3/(deps|src|build|binding\\.gyp)|bindings-cpp/(src|binding\\.gyp)|/prebuilds/(?!linux-${process.arch})|\\.musl\\.node$`,
);

function run(command: string, args: readonly string[]): void {
  const { status, error } = spawnSync(command, args, { stdio: ["ignore", "ignore", "inherit"] });
  if (status !== 0) throw new Error(`${command} ${args[0]}: ${error?.message ?? `ended with ${status}`}`);
}

function control(version: string, bytes: number): string {
  return `Package: ${NAME}
Version: ${version}
Architecture: ${ARCH}
Maintainer: Gripbook <gripbook@localhost>
Installed-Size: ${Math.ceil(bytes / 1024)}
Depends: libc6 (>= 2.28), libstdc++6, libgcc-s1
Recommends: xdg-utils, chromium | www-browser
Conflicts: gripbook
Section: science
Priority: optional
Description: tuning traction control on an electric conversion
 Times launches, measures slip and compares set-ups, from a GNSS receiver and
 a CAN adapter that is opened listen-only. This package shows its screens in
 the browser of this machine, and has the command line. It brings its own Node.
`;
}

const copyright = (licences: string) =>
  `Gripbook and everything in this package, with the licences. Node's own is in /usr/lib/gripbook/NODE-LICENSE.\n\n${licences}`;

/** Node as npm has it for this system, with its licence. */
function layNode(home: string): void {
  const [name, version] = [`node-${process.platform}-${process.arch}`, readManifest(root).devDependencies.node];
  const at = join(out, "node");
  run("npm", ["install", "--prefix", at, "--no-save", "--ignore-scripts", `${name}@${version}`]);
  cpSync(join(at, "node_modules", name, "bin/node"), join(home, "node"));
  cpSync(join(at, "node_modules", name, "LICENSE"), join(home, "NODE-LICENSE"));
  chmodSync(join(home, "node"), 0o755);
}

async function layTree(tree: string): Promise<void> {
  rmSync(tree, { recursive: true, force: true });
  const home = join(tree, HOME);
  await layNpmFolder(root, home);
  for (const place of shippedFolders(root, BESIDE))
    cpSync(join(root, place), join(home, place), { recursive: true, filter: (from) => !OTHERS.test(from) });
  layNode(home);
  const put = (from: string, to: string, mode = 0o644) => {
    mkdirSync(dirname(join(tree, to)), { recursive: true });
    cpSync(join(root, from), join(tree, to));
    chmodSync(join(tree, to), mode);
  };
  put("packaging/linux/gripbook.sh", "usr/bin/gripbook", 0o755);
  put("packaging/linux/gripbook.desktop", "usr/share/applications/gripbook.desktop");
  put("packaging/linux/gripbook.xml", "usr/share/mime/packages/gripbook.xml");
  put("packaging/linux/60-gripbook.rules", "usr/lib/udev/rules.d/60-gripbook.rules");
  put("assets/icon.svg", "usr/share/icons/hicolor/scalable/apps/gripbook.svg");
  put("packaging/linux/postinst", "DEBIAN/postinst", 0o755);
  mkdirSync(join(tree, DOCUMENTS), { recursive: true });
  writeFileSync(join(tree, DOCUMENTS, "changelog.gz"), gzipSync(readFileSync(join(root, "CHANGELOG.md")), { level: 9 }));
  writeFileSync(join(tree, DOCUMENTS, "copyright"), copyright(readFileSync(join(home, "LICENCES.txt"), "utf8")));
}

const tree = join(out, "deb");
const { version } = readManifest(root);
await layTree(tree);
const bytes = Number(spawnSync("du", ["-sb", tree], { encoding: "utf8" }).stdout.split("\t")[0]);
writeFileSync(join(tree, "DEBIAN/control"), control(version, bytes));
const file = join(out, `${NAME}_${version}_${ARCH}.deb`);
run("dpkg-deb", ["--root-owner-group", "-Zxz", "--build", tree, file]);
console.log(file);
