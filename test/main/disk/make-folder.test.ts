/**
 * Folders on systems that this one is not: a drive letter without a drive is its own parent (Node's path, win32), and two processes may make
 * one folder at the same time (mkdir(2), EEXIST).
 */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test, vi } from "vitest";
import { makeFolder } from "../../../src/main/disk/make-folder.ts";

const { quicker, nowhere } = vi.hoisted(() => ({ quicker: { is: false }, nowhere: { is: false } }));
vi.mock(import("node:fs"), async (original) => {
  const fs = await original();
  const failed = (code: string) => Object.assign(new Error(code), { code });
  const mkdirSync = (path: string) => {
    if (nowhere.is) throw failed("ENOENT");
    fs.mkdirSync(path);
    if (quicker.is) throw failed("EEXIST");
  };
  const statSync = (path: string, options: object) => (nowhere.is ? undefined : fs.statSync(path, options));
  return { ...fs, mkdirSync, statSync } as unknown as typeof fs;
});

let folder = "";
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
});
afterEach(() => {
  Object.assign(quicker, { is: false });
  Object.assign(nowhere, { is: false });
  rmSync(folder, { recursive: true, force: true });
});

test("a folder that another process made just now is there", () => {
  quicker.is = true;
  makeFolder(join(folder, "a", "b"));
});

test("where nothing is above, not even the drive, it says what cannot be made", () => {
  nowhere.is = true;
  expect(() => makeFolder(join(folder, "a"))).toThrow(/^Folder .*: cannot be made \(ENOENT\); name one that may be written$/);
});
