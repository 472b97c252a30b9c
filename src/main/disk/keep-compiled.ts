/** Node keeps the compiled source in Gripbook's data folder, by its content: a command begins in half the time. Where that folder cannot be written nothing is kept, and nothing is said. */
import { mkdirSync } from "node:fs";
import { enableCompileCache } from "node:module";
import { join } from "node:path";
import { dataFolder } from "./data-folder.ts";

const folderIn = (environment: NodeJS.ProcessEnv): string => join(dataFolder({ platform: process.platform, environment }), "compiled");

/** Before the modules that are to be kept are imported. */
export function keepCompiled(environment: NodeJS.ProcessEnv = process.env): void {
  // Named by the person: Node uses it by itself.
  if (environment.NODE_COMPILE_CACHE !== undefined) return;
  const folder = folderIn(environment);
  try {
    mkdirSync(folder, { recursive: true, mode: 0o700 });
  } catch {
    return;
  }
  enableCompileCache(folder);
}

/** The environment of a Node process that is started: it keeps what it compiles from its first module on, and its threads too. */
export const keepingCompiled = (environment: NodeJS.ProcessEnv = process.env): NodeJS.ProcessEnv => ({
  NODE_COMPILE_CACHE: folderIn(environment),
  ...environment,
});
