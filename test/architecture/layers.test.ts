/** The import rules of layers.cjs hold, and the check read every source file (so that it cannot pass without having looked). */
import { readdirSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { cruise, type ICruiseResult } from "dependency-cruiser";
import { expect, test } from "vitest";

const require = createRequire(import.meta.url);
const config = require("./layers.cjs");

const sources = readdirSync("src", { recursive: true, encoding: "utf8" }).filter((file) => file.endsWith(".ts") && !file.endsWith(".d.ts"));

async function cruiseOver(paths: string[], options: object): Promise<ICruiseResult> {
  const result = await cruise(paths, { ruleSet: { forbidden: config.forbidden }, validate: true, ...config.options, ...options });
  return result.output as ICruiseResult;
}

test("layers: imports point one way, in every source file", async () => {
  const { summary } = await cruiseOver(["src"], {});
  expect(summary.violations.map((v) => `${v.rule.name}: ${v.from} -> ${v.to}`)).toEqual([]);
  expect(summary.totalCruised).toBeGreaterThanOrEqual(sources.length);
});

test("layers: the check bites: a screen that imports the book is refused", async () => {
  const { summary } = await cruiseOver(["src"], { baseDir: "test/architecture/must-fail" });
  expect(summary.violations.map((v) => v.rule.name)).toContain("renderer-sees-shared-only");
});

test("layers: the check bites: a file that opens a serial port beside the one that holds them is refused", async () => {
  const { summary } = await cruiseOver(["src"], { baseDir: "test/architecture/must-fail" });
  expect(summary.violations.map((v) => `${v.rule.name}: ${v.from}`)).toContain("one-file-holds-serial-ports: src/main/port.ts");
});

test("layers: the check bites: a file that opens a connection, or starts a program, beside those that may is refused", async () => {
  const { summary } = await cruiseOver(["src"], { baseDir: "test/architecture/must-fail" });
  const broken = summary.violations.map((v) => `${v.rule.name}: ${v.from}`);
  expect(broken).toContain("one-file-opens-connections-and-one-holds-udp-ports: src/main/socket.ts");
  expect(broken).toContain("programs-are-started-by-hosts-and-named-adapters: src/main/socket.ts");
});

test("a port is written to at one place, behind the listen-only guard", () => {
  const serial = sources.filter((file) => file.startsWith("main/adapters/serial/"));
  const writers = serial.filter((file) => /\.(write|writev|pipe)\(/.test(readFileSync(`src/${file}`, "utf8")));
  expect(writers).toEqual(["main/adapters/serial/serial-line.ts"]);
  const body = readFileSync("src/main/adapters/serial/serial-line.ts", "utf8").split("async send(command) {")[1] ?? "";
  expect(body.match(/\.write\(/g)).toHaveLength(1);
  expect(body.trimStart()).toMatch(/^const text = wireText\(command\);[^{]*\{\s*port\.write\(text, "latin1",/);
});

test("nothing is written to a network but gpsd's watch, at one place, and what a host answers to its own pages", () => {
  const network = sources.filter((file) => file.startsWith("main/adapters/network/"));
  expect(network.length).toBeGreaterThan(5);
  const sends = /\.(write|writev|end|pipe|send|sendto|connect)\(/;
  expect(network.filter((file) => sends.test(readFileSync(`src/${file}`, "utf8")))).toEqual(["main/adapters/network/tcp-line.ts"]);
  const body = readFileSync("src/main/adapters/network/tcp-line.ts", "utf8");
  expect(body.match(new RegExp(sends, "g"))).toEqual([".write("]);
  expect(body).toContain('socket.write(WATCH, "latin1",');
  // Exactly one constant (gpsd_json(5), ?WATCH): enables the watch, asks for the sentences, says nothing of a device.
  expect(body.match(/^const WATCH = .*$/m)?.[0]).toBe(`const WATCH = '?WATCH={"enable":true,"nmea":true};';`);
});

test("of can-utils only candump is started, with fixed arguments and without a shell, and of ip only what shows", () => {
  const adapters = sources.filter((file) => file.startsWith("main/adapters/"));
  const starts = /\b(spawn|spawnSync|exec|execSync|execFile|execFileSync|fork|run)\(\s*("[^"]*"|[A-Z]+)?/g;
  const found = adapters.flatMap((file) => {
    const text = readFileSync(`src/${file}`, "utf8");
    return text.includes("node:child_process") ? Array.from(text.matchAll(starts), ([, how, what]) => `${file}: ${how} ${what ?? ""}`) : [];
  });
  expect(found.filter((line) => line.includes("socketcan/"))).toEqual([
    "main/adapters/socketcan/candump-line.ts: spawn CANDUMP",
    'main/adapters/socketcan/interface-state.ts: run "ip"',
  ]);
  const line = readFileSync("src/main/adapters/socketcan/candump-line.ts", "utf8");
  expect(line).toContain('const CANDUMP = "candump";');
  expect(line).toContain('const ARGUMENTS = ["-L", "-d"];');
  expect(line).toMatch(/spawn\(CANDUMP, \[\.\.\.ARGUMENTS, name\], \{ stdio: \["ignore", "pipe", "pipe"\], shell: false \}\)/);
  expect(readFileSync("src/main/adapters/socketcan/interface-state.ts", "utf8")).toContain(
    'run("ip", ["-details", "-json", "link", "show", name]',
  );
  // Programs that send on the bus (man pages of can-utils).
  const senders = /\b(cansend|cangen|canplayer|canfdtest|cansniffer|bcmserver|canlogserver|isotpsend|slcand|slcan_attach|cangw)\b/;
  expect(sources.filter((file) => senders.test(readFileSync(`src/${file}`, "utf8")))).toEqual([]);
});

test("source files are short: none over 300 lines", () => {
  const long = sources
    .map((file) => [file, readFileSync(`src/${file}`, "utf8").split("\n").length - 1] as const)
    .filter(([, lines]) => lines > 300);
  expect(long).toEqual([]);
  expect(sources.length).toBeGreaterThan(20);
});

test("the top level holds only what docs/design.md names", () => {
  const allowed =
    /^(package\.json|package-lock\.json|tsconfig\.json|electron-builder\.yml|src|test|packaging|assets|docs|CHANGELOG\.md|README\.md|DEVELOPERS\.md|LICENSE|\..*|node_modules|out|test-output)$/;
  expect(readdirSync(".").filter((name) => !allowed.test(name))).toEqual([]);
});
