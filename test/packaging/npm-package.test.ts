/**
 * The npm package, as `npm pack` makes it: it holds what it needs and nothing else, and its one command starts, from compiled JavaScript alone. Its
 * own packages are those of the checkout here; that npm brings them to a bare Debian was tried by hand (docs/packages.md).
 */
import { spawn, spawnSync } from "node:child_process";
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { isBuiltin } from "node:module";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { afterAll, beforeAll, expect, test } from "vitest";
import { layNpmFolder } from "../../packaging/npm-folder.ts";

const root = fileURLToPath(new URL("../..", import.meta.url));
const version = JSON.parse(readFileSync(join(root, "package.json"), "utf8")).version as string;
let folder: string;
let bin: string;

beforeAll(async () => {
  // Inside the checkout, whose node_modules it finds.
  mkdirSync(join(root, "out"), { recursive: true });
  folder = await layNpmFolder(root, mkdtempSync(join(root, "out/npm-package-")));
  bin = join(folder, "bin/gripbook.js");
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** Makes a Node say that it is an old one; what is started from it is not changed. */
function oldNode(): string {
  const preload = join(folder, "old-node.cjs");
  writeFileSync(preload, 'Object.defineProperty(process, "versions", { value: { ...process.versions, node: "18.20.4" } });\n');
  return preload;
}

/** The Node that npm would bring, where it would lie. */
function layNode(): { preload: string } {
  const brought = join(folder, `node_modules/node-${process.platform === "win32" ? "win" : process.platform}-${process.arch}`);
  rmSync(brought, { recursive: true, force: true });
  mkdirSync(join(brought, "bin"), { recursive: true });
  writeFileSync(join(brought, "package.json"), "{}");
  symlinkSync(process.execPath, join(brought, "bin", process.platform === "win32" ? "node.exe" : "node"));
  return { preload: oldNode() };
}

const run = (...args: string[]) => spawnSync(process.execPath, args, { encoding: "utf8", timeout: 120_000 });

test("npm packs the program, the screens and the documents, and no source, test, book or map", () => {
  const { stdout } = spawnSync("npm", ["pack", "--dry-run", "--json"], {
    cwd: folder,
    encoding: "utf8",
    shell: process.platform === "win32",
  });
  const [{ files }] = JSON.parse(stdout) as [{ files: { path: string }[] }];
  const paths = files.map(({ path }) => path);
  expect([...new Set(paths.map((path) => path.split("/")[0]))].sort()).toEqual(
    ["CHANGELOG.md", "LICENCES.txt", "LICENSE", "README.md", "bin", "docs", "lib", "package.json"].sort(),
  );
  for (const needed of [
    "bin/gripbook.js",
    "lib/program/start.mjs",
    "lib/program/command-line.mjs",
    "lib/renderer/index.html",
    "docs/set-up.md",
  ])
    expect(paths).toContain(needed);
  expect(paths.filter((path) => /\.ts$|\.map$|\.test\.|\.gripbook|(^|\/)(test|src|shared|out)\//.test(path))).toEqual([]);
});

test("everything that the program imports is of Node, in the bundle, or named in package.json with one exact version", () => {
  const { dependencies, optionalDependencies } = JSON.parse(readFileSync(join(folder, "package.json"), "utf8"));
  const program = join(folder, "lib/program");
  const asked = readdirSync(program).flatMap((name) =>
    [
      ...readFileSync(join(program, name), "utf8").matchAll(
        /(?:^import|\bfrom|\bimport\(|createRequire\(import\.meta\.url\)\()\s*"([@a-z][^"\s]*)"/gm,
      ),
    ].map((match) => match[1] as string),
  );
  const packages = new Set(
    asked
      .filter((name) => !isBuiltin(name))
      .map((name) =>
        name
          .split("/")
          .slice(0, name.startsWith("@") ? 2 : 1)
          .join("/"),
      ),
  );
  expect([...packages].sort()).toEqual(Object.keys(dependencies).sort());
  for (const exact of Object.values({ ...dependencies, ...optionalDependencies })) expect(exact).toMatch(/^\d+\.\d+\.\d+$/);
});

test("the licences inside name every package of the bundle and of package.json, each with its text", () => {
  const text = readFileSync(join(folder, "LICENCES.txt"), "utf8");
  for (const name of [
    "better-sqlite3",
    "serialport",
    "ws",
    "electron-log",
    "chart.js",
    "valibot",
    "commander",
    "hyparquet",
    "@fontsource/ibm-plex-sans",
  ])
    expect(text).toMatch(new RegExp(`^${name} \\d+\\.\\d+\\.\\d+: \\S+`, "m"));
  expect(text).not.toContain("No text of its own");
  expect(text).not.toMatch(/^typescript /m);
});

test("--version says the version of package.json; a first word is a command, an option starts the screens", () => {
  expect(run(bin, "--version")).toMatchObject({ status: 0, stdout: `${version}\n` });
  expect(run(bin, "runs", "--book", join(tmpdir(), "no-such.gripbook"))).toMatchObject({ status: 2, stdout: "" });
  expect(run(bin, "--web", "--help").stdout).toMatch(/^gripbook \[options\]\n/);
  expect(run(bin, "--bok", "a")).toMatchObject({ status: 2, stderr: expect.stringMatching(/^gripbook: start: [^\n]+\n$/) });
});

test("without a command it serves the screens on loopback, and ends with its recording closed", async () => {
  const home = mkdtempSync(join(tmpdir(), "gripbook-packed-"));
  const child = spawn(process.execPath, [bin, "--web", "--no-open", "--port", "0", "--book", join(home, "day.gripbook")], {
    env: { ...process.env, XDG_DATA_HOME: home },
    stdio: ["ignore", "ignore", "pipe"],
  });
  let said = "";
  child.stderr.setEncoding("utf8").on("data", (text: string) => {
    said += text;
  });
  const ended = new Promise((resolve) => child.once("exit", resolve));
  await expect.poll(() => said).toMatch(/http:\/\/127\.0\.0\.1:\d+\/enter/);
  const address = /http:\S+/.exec(said)?.[0] as string;
  const entered = await fetch(address);
  expect([entered.status, await entered.text()]).toEqual([200, expect.stringContaining("<title>")]);
  child.kill("SIGTERM");
  expect(await ended).toBe(0);
  rmSync(home, { recursive: true, force: true });
});

test.skipIf(process.platform !== "linux")(
  "the end of npx ends it, also behind an older Node and where there is no ps(1), as on a bare Debian",
  async () => {
    const home = mkdtempSync(join(tmpdir(), "gripbook-packed-"));
    const brought = layNode();
    const line = `"${process.execPath}" -r "${brought.preload}" "${bin}" --web --no-open --port 0 --book "${home}/day.gripbook"; exit $?`;
    const npx = `process.title = "npm exec gripbook"; require("node:child_process").spawn("/bin/sh", ["-c", ${JSON.stringify(line)}], { stdio: "inherit" })`;
    const child = spawn(process.execPath, ["-e", npx], {
      env: { PATH: home, HOME: home, XDG_DATA_HOME: home, npm_lifecycle_event: "npx" },
      stdio: ["ignore", "ignore", "pipe"],
    });
    let said = "";
    child.stderr.setEncoding("utf8").on("data", (text: string) => {
      said += text;
    });
    await expect.poll(() => said).toMatch(/http:\/\/127\.0\.0\.1:\d+\/enter/);
    const { origin } = new URL(/http:\S+/.exec(said)?.[0] as string);
    expect((await fetch(origin)).status).toBeGreaterThan(0);
    child.kill("SIGKILL");
    await expect
      .poll(() =>
        fetch(origin).then(
          () => "serves",
          () => "gone",
        ),
      )
      .toBe("gone");
    rmSync(home, { recursive: true, force: true });
  },
);

test("a Node that is too old hands over to the one that npm brought, or is named in one line", () => {
  const preload = oldNode();
  rmSync(join(folder, "node_modules"), { recursive: true, force: true });
  expect(run("-r", preload, bin, "--version")).toMatchObject({
    status: 1,
    stderr: expect.stringMatching(/^gripbook: needs Node 22\.14 or later, and this is 18\.20\.4; install [^\n]+\n$/),
  });
  layNode();
  expect(run("-r", preload, bin, "--version")).toMatchObject({ status: 0, stdout: `${version}\n` });
  expect(run("-r", preload, bin, "bogus")).toMatchObject({ status: 2 });
});
