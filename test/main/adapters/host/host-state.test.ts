/** The computer's own state: Linux's sysfs-class-power ABI in a made-up tree, pmset's and Win32_Battery's answers as their manuals show them, and this machine's disk. */
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, expect, test } from "vitest";
import { createHostState, powerFromPmset, powerFromSysfs, powerFromWindows } from "../../../../src/main/adapters/host/host-state.ts";

const folders: string[] = [];
afterEach(() => {
  for (const folder of folders.splice(0)) rmSync(folder, { recursive: true });
});

function sysfs(supplies: Record<string, Record<string, string>>): string {
  const folder = mkdtempSync(join(tmpdir(), "gripbook-power-"));
  folders.push(folder);
  for (const [name, files] of Object.entries(supplies)) {
    mkdirSync(join(folder, name));
    for (const [file, text] of Object.entries(files)) writeFileSync(join(folder, name, file), `${text}\n`);
  }
  return folder;
}

test("Linux: charge of the laptop's own batteries, on mains or not, none known", async () => {
  const battery = { type: "Battery", capacity: "62", status: "Discharging" };
  expect(await powerFromSysfs(sysfs({ BAT0: battery, AC: { type: "Mains", online: "0" } }))).toEqual({ share: 0.62, charging: false });
  expect(await powerFromSysfs(sysfs({ BAT0: { ...battery, status: "Charging" }, AC: { type: "Mains", online: "1" } }))).toEqual({
    share: 0.62,
    charging: true,
  });
  expect(await powerFromSysfs(sysfs({ BAT0: battery, BAT1: { ...battery, capacity: "38" } }))).toEqual({ share: 0.5, charging: false });
  // A wireless mouse's battery is none of the laptop's.
  expect(await powerFromSysfs(sysfs({ mouse: { ...battery, scope: "Device" }, AC: { type: "Mains", online: "1" } }))).toEqual({
    share: null,
    charging: true,
  });
  expect(await powerFromSysfs(sysfs({}))).toBeNull();
  expect(await powerFromSysfs("/nowhere")).toBeNull();
});

test("macOS and Windows: their tools' answers", () => {
  const pmset = (source: string, rest: string) =>
    `Now drawing from '${source} Power'\n -InternalBattery-0 (id=4653155)\t${rest} present: true\n`;
  expect(powerFromPmset(pmset("Battery", "83%; discharging; 4:02 remaining"))).toEqual({ share: 0.83, charging: false });
  expect(powerFromPmset(pmset("AC", "100%; charged; 0:00 remaining"))).toEqual({ share: 1, charging: true });
  expect(powerFromPmset("Now drawing from 'AC Power'\n")).toEqual({ share: null, charging: true });
  expect(powerFromPmset("")).toBeNull();
  expect(powerFromWindows("1 47\r\n")).toEqual({ share: 0.47, charging: false });
  expect(powerFromWindows("2 98\r\n")).toEqual({ share: 0.98, charging: true });
  expect(powerFromWindows("")).toBeNull();
});

test("free bytes where a file lies; unknown where nothing lies", async () => {
  const host = createHostState();
  expect(await host.freeBytes(join(tmpdir(), "day.gripbook"))).toBeGreaterThan(1e6);
  expect(await host.freeBytes("/nowhere/at/all/day.gripbook")).toBeNull();
});
