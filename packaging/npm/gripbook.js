#!/usr/bin/env node
/**
 * `gripbook`: a first word is a command of the command line. Without one, with nothing but options, or with a book, Gripbook starts with its screens. Runs on
 * any Node from 18 on: where that is too old for Gripbook, on the one that was installed beside it. Without either, one line says so.
 */
import { spawn } from "node:child_process";
import { existsSync } from "node:fs";
import { createRequire } from "node:module";
import { dirname, join } from "node:path";
import { isatty } from "node:tty";
import { fileURLToPath } from "node:url";

/** What better-sqlite3 and the bundle need: RUNS_ON of packaging/npm-folder.ts. */
const OLDEST = [22, 14];
const ABOUT = ["--help", "-h", "--version", "-V"];

const [first] = process.argv.slice(2);
const isCommand = first !== undefined && !first.endsWith(".gripbook") && (!first.startsWith("-") || ABOUT.includes(first));
const [major, minor] = process.versions.node.split(".").map(Number);

/** The Node that npm installed with Gripbook, as an optional package for this system; null where it was left out. */
function broughtNode() {
  const isWindows = process.platform === "win32";
  const name = `node-${isWindows ? "win" : process.platform}-${process.arch}`;
  try {
    const folder = dirname(createRequire(import.meta.url).resolve(`${name}/package.json`));
    const file = join(folder, "bin", isWindows ? "node.exe" : "node");
    return existsSync(file) ? file : null;
  } catch {
    return null;
  }
}

function runOn(node) {
  const child = spawn(node, [fileURLToPath(import.meta.url), ...process.argv.slice(2)], { stdio: "inherit" });
  child.once("error", (error) => {
    process.stderr.write(`gripbook: the Node beside Gripbook (${node}) cannot be started: ${error.message}\n`);
    process.exitCode = 1;
  });
  const pass = (signal) => process.on(signal, () => child.kill(signal));
  for (const signal of ["SIGTERM", "SIGHUP"]) pass(signal);
  // Ctrl-C reaches every process of a terminal by itself, and a second one would end Gripbook before its recording is closed.
  if ([0, 1, 2].some((descriptor) => isatty(descriptor))) process.on("SIGINT", () => undefined);
  else pass("SIGINT");
  child.once("exit", (code) => {
    process.exitCode = code ?? 1;
  });
}

if (major > OLDEST[0] || (major === OLDEST[0] && minor >= OLDEST[1])) {
  await import(new URL(`../lib/program/${isCommand ? "command-line" : "start"}.mjs`, import.meta.url).href);
} else {
  const node = broughtNode();
  if (node !== null) runOn(node);
  else {
    const install = "install a newer one; on Linux and Windows, Gripbook installed without --omit=optional brings one";
    process.stderr.write(`gripbook: needs Node ${OLDEST.join(".")} or later, and this is ${process.versions.node}; ${install}\n`);
    process.exitCode = 1;
  }
}
