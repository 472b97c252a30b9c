/** The version in package.json, which lies two folders above the source tree's main folder and above a bundle alike. It is printed beside every figure on paper. */
import { createRequire } from "node:module";

export function softwareVersion(): string {
  return (createRequire(import.meta.url)("../../package.json") as { version: string }).version;
}
