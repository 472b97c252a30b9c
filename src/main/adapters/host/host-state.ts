/** Free disk and battery of this computer: statfs everywhere; the battery from sysfs (Linux), pmset (macOS) or the power classes (Windows). Unknown is null, with no error. */
import { execFile } from "node:child_process";
import { readdir, readFile, statfs } from "node:fs/promises";
import { dirname } from "node:path";
import { promisify } from "node:util";
import type { HostState } from "../../ports/host-state.ts";

type Power = Awaited<ReturnType<HostState["power"]>>;

const SYSFS = "/sys/class/power_supply";
const LONGEST_MS = 5000;
const run = promisify(execFile);

/** Linux ABI sysfs-class-power: type, capacity in per cent, status. The battery of a mouse ("Device" scope) is not the laptop's. */
export async function powerFromSysfs(folder: string): Promise<Power> {
  const supplies = await readdir(folder).catch(() => []);
  const read = async (name: string, file: string) => (await readFile(`${folder}/${name}/${file}`, "utf8").catch(() => "")).trim();
  let mains = false;
  const shares: number[] = [];
  let charging = false;
  for (const name of supplies) {
    const type = await read(name, "type");
    if (type === "Mains" || type === "USB") mains ||= (await read(name, "online")) === "1";
    if (type !== "Battery" || (await read(name, "scope")) === "Device") continue;
    const capacity = Number.parseInt(await read(name, "capacity"), 10);
    if (Number.isFinite(capacity)) shares.push(capacity / 100);
    charging ||= ["Charging", "Full"].includes(await read(name, "status"));
  }
  if (shares.length === 0) return mains ? { share: null, charging: true } : null;
  return { share: shares.reduce((sum, one) => sum + one, 0) / shares.length, charging: charging || mains };
}

/** `pmset -g batt`: "Now drawing from 'Battery Power'" and "83%; discharging". */
export function powerFromPmset(text: string): Power {
  const source = /drawing from '(AC|Battery) Power'/.exec(text)?.[1];
  const percent = /(\d{1,3})%;/.exec(text)?.[1];
  if (source === undefined) return null;
  return { share: percent === undefined ? null : Number(percent) / 100, charging: source === "AC" };
}

/** "BatteryStatus EstimatedChargeRemaining" of Win32_Battery: status 1 is discharging, 2 on mains, 3 fully charged, 6 to 9 charging. */
export function powerFromWindows(text: string): Power {
  const [status, percent] = text.trim().split(/\s+/).map(Number);
  if (status === undefined || percent === undefined || Number.isNaN(status) || Number.isNaN(percent)) return null;
  return { share: percent / 100, charging: [2, 3, 6, 7, 8, 9].includes(status) };
}

const WINDOWS_QUERY =
  '$b = Get-CimInstance Win32_Battery | Select-Object -First 1; if ($b) { "$($b.BatteryStatus) $($b.EstimatedChargeRemaining)" }';

async function answerOf(program: string, args: readonly string[]): Promise<string> {
  try {
    return (await run(program, [...args], { timeout: LONGEST_MS, windowsHide: true })).stdout;
  } catch {
    // A computer without this information is no error for the person: the list then says that it is unknown.
    return "";
  }
}

export function createHostState(): HostState {
  return {
    async freeBytes(file) {
      try {
        const { bavail, bsize } = await statfs(dirname(file));
        return bavail * bsize;
      } catch {
        return null;
      }
    },
    async power() {
      if (process.platform === "darwin") return powerFromPmset(await answerOf("pmset", ["-g", "batt"]));
      if (process.platform === "win32") return powerFromWindows(await answerOf("powershell", ["-NoProfile", "-Command", WINDOWS_QUERY]));
      return powerFromSysfs(SYSFS);
    },
  };
}
