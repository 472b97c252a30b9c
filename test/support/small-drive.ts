/** A drive of a few megabytes that really fills up: a tmpfs, which only root may mount. `whyNoDrive` says why there is none. */
import { spawnSync } from "node:child_process";
import { closeSync, mkdirSync, mkdtempSync, openSync, rmSync, writeSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

const [MOUNT, UMOUNT] = ["mount", "umount"];
const BALLAST = "ballast";

function mount(folder: string, megabytes: number): boolean {
  return spawnSync(MOUNT, ["-t", "tmpfs", "-o", `size=${megabytes}m`, "tmpfs", folder]).status === 0;
}

function canMount(): boolean {
  const probe = mkdtempSync(join(tmpdir(), "gripbook-mount-"));
  const ok = mount(probe, 1);
  if (ok) spawnSync(UMOUNT, [probe]);
  rmSync(probe, { recursive: true, force: true });
  return ok;
}

export const whyNoDrive: string | null =
  process.getuid?.() === 0 && canMount() ? null : "mounting a small tmpfs needs root and the mount command";

export interface SmallDrive {
  readonly folder: string;
  /** To the last byte. */
  fill(): void;
  free(): void;
  dispose(): void;
}

export function createSmallDrive(parent: string, megabytes: number): SmallDrive {
  const folder = join(parent, "drive");
  mkdirSync(folder);
  if (!mount(folder, megabytes)) throw new Error(`could not mount a tmpfs at ${folder}`);
  const ballast = join(folder, BALLAST);
  return {
    folder,
    fill() {
      const handle = openSync(ballast, "a");
      for (const size of [2 ** 16, 2 ** 12, 1]) {
        try {
          for (;;) writeSync(handle, Buffer.alloc(size));
        } catch (error) {
          if ((error as { code?: unknown }).code !== "ENOSPC") throw error;
        }
      }
      closeSync(handle);
    },
    free: () => rmSync(ballast),
    dispose: () => void spawnSync(UMOUNT, ["-l", folder]),
  };
}
