/** The screens in memory: only what was built, by exact path. Media types after the IANA registry. */
import { mkdirSync, mkdtempSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { expect, test } from "vitest";
import { readPageFiles } from "../../../src/main/hosts/page-files.ts";

test("readPageFiles() knows every built file by its path, the index by /, and leaves other types out", () => {
  const folder = mkdtempSync(join(tmpdir(), "gripbook-page-"));
  expect(() => readPageFiles(folder)).toThrow("expected index.html; run npm run build");
  mkdirSync(join(folder, "assets"));
  writeFileSync(join(folder, "index.html"), "<!doctype html>");
  writeFileSync(join(folder, "assets", "a.js"), "1");
  writeFileSync(join(folder, "assets", "secret.sqlite"), "x");
  const files = readPageFiles(folder);
  expect([...files.keys()].sort()).toEqual(["/", "/assets/a.js", "/index.html"]);
  expect(files.get("/assets/a.js")).toMatchObject({ type: "text/javascript; charset=utf-8" });
  expect(new TextDecoder().decode(files.get("/")?.bytes)).toBe("<!doctype html>");
});
