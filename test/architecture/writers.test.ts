/**
 * Files are written only by src/main/disk: complete, exclusive, through no link. What SQLite, a printer or a browser needs made beforehand
 * is made exclusively ("wx": POSIX O_CREAT with O_EXCL), or inside a folder that mkdtemp just made. Every source file is read, and the
 * check finds known violations.
 */
import { readdirSync, readFileSync } from "node:fs";
import { expect, test } from "vitest";

/** Ways of node:fs to write, rename or copy over something. */
const WRITES = /\b(?:writeFileSync|writeFile|appendFileSync|appendFile|createWriteStream|renameSync|copyFileSync|cpSync|openSync)\(/;

/** Lines that write without "wx", in a file that makes no folder of its own by mkdtemp; `openSync(x, "r")` only reads. */
const offending = (source: string) => {
  const ownFolder = source.includes("mkdtempSync(");
  return source.split("\n").filter((line) => WRITES.test(line) && !ownFolder && !/"wx"/.test(line) && !/openSync\([^)]*, "r"\)/.test(line));
};

test("files are written by src/main/disk alone", () => {
  const files = readdirSync("src", { recursive: true, encoding: "utf8" }).filter((file) => file.endsWith(".ts"));
  const others = files.filter((file) => !file.startsWith("main/disk/"));
  const found = others.flatMap((file) => offending(readFileSync(`src/${file}`, "utf8")).map((line) => `${file}: ${line.trim()}`));
  expect(found).toEqual([]);
  expect(others.length).toBeGreaterThan(300);
  const disk = files.filter((file) => file.startsWith("main/disk/")).filter((file) => WRITES.test(readFileSync(`src/${file}`, "utf8")));
  expect(disk.length).toBeGreaterThan(1);
});

test("the check bites", () => {
  expect(offending('writeFileSync(options.out, "x");')).toHaveLength(1);
  expect(offending('const h = openSync(file, "w");')).toHaveLength(1);
  expect(offending('closeSync(openSync(file, "wx", 0o600));')).toEqual([]);
});
