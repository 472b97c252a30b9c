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

test("a port is written to at one place, behind the listen-only guard", () => {
  const serial = sources.filter((file) => file.startsWith("main/adapters/serial/"));
  const writers = serial.filter((file) => /\.(write|writev|pipe)\(/.test(readFileSync(`src/${file}`, "utf8")));
  expect(writers).toEqual(["main/adapters/serial/serial-line.ts"]);
  const body = readFileSync("src/main/adapters/serial/serial-line.ts", "utf8").split("async send(command) {")[1] ?? "";
  expect(body.match(/\.write\(/g)).toHaveLength(1);
  expect(body.trimStart()).toMatch(/^const text = wireText\(command\);[^{]*\{\s*port\.write\(text, "latin1",/);
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
