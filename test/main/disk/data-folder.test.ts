/** XDG Base Directory Specification 0.8: an unset or empty XDG_DATA_HOME means $HOME/.local/share, and a relative path is to be ignored. */
import { expect, test } from "vitest";
import { dataFolder } from "../../../src/main/disk/data-folder.ts";

const on = (platform: string, environment: Readonly<Record<string, string>>) => dataFolder({ platform, environment });

test.each([undefined, "", "data", "./data"])("XDG_DATA_HOME %j means the usual folder", (given) => {
  const environment = { HOME: "/home/tester", ...(given === undefined ? {} : { XDG_DATA_HOME: given }) };
  expect(on("linux", environment)).toBe("/home/tester/.local/share/gripbook");
});

test("an absolute one is taken", () => {
  expect(on("linux", { HOME: "/home/tester", XDG_DATA_HOME: "/data" })).toBe("/data/gripbook");
});

test("an empty home is no home: never a folder beside whatever was started", () => {
  for (const platform of ["linux", "darwin", "win32"]) expect(on(platform, { HOME: "", LOCALAPPDATA: "" })).toMatch(/^\//);
});
