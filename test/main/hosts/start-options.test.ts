/** Start's arguments and the data folder. Folders after the XDG Base Directory Specification and the vendors' own guides (from memory for Windows and macOS). */
import { dataFolder } from "../../../src/main/disk/data-folder.ts";
import { execFileSync, spawnSync } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { expect, test } from "vitest";
import { coreArguments, readStartOptions, startHelp } from "../../../src/main/hosts/start-options.ts";

const linux = { platform: "linux", environment: { HOME: "/home/p" }, workingFolder: "/work/day" };

test("readStartOptions() gives the simulated car and a book in the data folder when nothing is asked", () => {
  const options = readStartOptions([], linux);
  expect(options).toEqual({
    bookFile: "/home/p/.local/share/gripbook/simulated-day.gripbook",
    bookAlone: false,
    setUpFile: null,
    rememberFile: "/home/p/.local/share/gripbook/last-car.json",
    web: false,
    port: null,
    open: true,
  });
  expect(coreArguments(options)).toEqual([
    "--book",
    options.bookFile,
    "--simulated",
    "--remember",
    "/home/p/.local/share/gripbook/last-car.json",
  ]);
});

test("readStartOptions() never puts real runs into the simulated book, and takes files from the working folder", () => {
  const options = readStartOptions(["--setup", "odrel.json", "--web", "--port", "8080", "--no-open"], linux);
  expect(options).toEqual({
    bookFile: "/home/p/.local/share/gripbook/test-days.gripbook",
    bookAlone: false,
    setUpFile: "/work/day/odrel.json",
    rememberFile: "/home/p/.local/share/gripbook/last-car.json",
    web: true,
    port: 8080,
    open: false,
  });
  expect(coreArguments(options)).toEqual([
    "--book",
    options.bookFile,
    "--setup",
    "/work/day/odrel.json",
    "--remember",
    "/home/p/.local/share/gripbook/last-car.json",
  ]);
  expect(readStartOptions(["--book", "./day.gripbook"], linux).bookFile).toBe("/work/day/day.gripbook");
});

test("readStartOptions() hands a control's setting on to the simulated car, and to no real one", () => {
  const options = readStartOptions(["--control", "slip=0.11,late=0.02"], linux);
  expect(coreArguments(options).slice(2, 5)).toEqual(["--simulated", "--control", "slip=0.11,late=0.02"]);
  expect(() => readStartOptions(["--control", "slip=0.11", "--setup", "odrel.json"], linux)).toThrow("leave out --setup, or --control");
});

test("a book named alone, by its path or as desktops do by its address, is shown with the set-up that it belongs to", () => {
  const options = readStartOptions(["days/may.gripbook"], linux);
  expect(options).toMatchObject({ bookFile: join(linux.workingFolder, "days/may.gripbook"), bookAlone: true });
  expect(coreArguments(options)).toEqual(["--book", options.bookFile, "--own", "--remember", options.rememberFile]);
  expect(readStartOptions(["file:///tmp/a%20b.gripbook"], linux).bookFile).toBe("/tmp/a b.gripbook");
  expect(() => readStartOptions(["a.gripbook", "--setup", "odrel.json"], linux)).toThrow("leave out --book, --setup and --control");
  expect(() => readStartOptions(["a.gripbook", "b.gripbook"], linux)).toThrow("one book at a time");
});

test.each([["--control", "slip=2"], ["--control", "grip=1"], ["--port", "70000"], ["--port", "x"], ["--bok", "a"], ["stray"]])(
  "readStartOptions() refuses %s %s in one line",
  (...argv) => {
    expect(() => readStartOptions(argv.filter(Boolean) as string[], linux)).toThrow(RangeError);
    try {
      readStartOptions(argv.filter(Boolean) as string[], linux);
    } catch (error) {
      expect((error as Error).message).toMatch(/^start: [^\n]+$/);
    }
  },
);

test("--help explains every option that the refusal names, ends with 0 and starts nothing", () => {
  const start = fileURLToPath(new URL("../../../src/main/hosts/start.ts", import.meta.url));
  for (const asked of ["--help", "-h"])
    expect(execFileSync(process.execPath, [start, asked], { encoding: "utf8" })).toBe(startHelp("npm start --"));
  let refusal = "";
  try {
    readStartOptions(["--bok", "a"], linux);
  } catch (error) {
    refusal = (error as Error).message;
  }
  const named = refusal.split("understood are ")[1]?.match(/--[a-z-]+/g) ?? [];
  expect(named.length).toBeGreaterThan(4);
  for (const option of named) expect(startHelp("gripbook")).toMatch(new RegExp(`^ {2}${option}\\b.* {2}\\S`, "m"));
});

test("a folder named as the book is refused as one, with a name that would do, before any address is printed", () => {
  const start = fileURLToPath(new URL("../../../src/main/hosts/start.ts", import.meta.url));
  const folder = mkdtempSync(join(tmpdir(), "gripbook-book-"));
  const told = spawnSync(process.execPath, [start, "--web", "--no-open", "--book", folder], { encoding: "utf8", timeout: 120_000 });
  rmSync(folder, { recursive: true });
  expect(told.stdout + told.stderr).toMatch(
    new RegExp(`^[^\n]*--book ${folder} is a folder, and a book is a file; name one in it, as ${join(folder, "day.gripbook")}\n$`),
  );
  expect(told.status).toBe(2);
});

test("dataFolder() follows each system's convention", () => {
  expect(dataFolder({ ...linux, environment: { HOME: "/home/p", XDG_DATA_HOME: "/data" } })).toBe("/data/gripbook");
  expect(dataFolder({ ...linux, platform: "darwin" })).toBe("/home/p/Library/Application Support/Gripbook");
  expect(dataFolder({ ...linux, platform: "win32", environment: { LOCALAPPDATA: "/local" } })).toBe("/local/Gripbook");
});
