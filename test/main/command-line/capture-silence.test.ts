/**
 * A source that becomes silent in a capture without a screen is named on stderr once, and again when it is back. The real command on PTYs.
 */
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { expect, test, vi } from "vitest";
import { carSetUp, carSignalFile } from "../../../src/shared/simulation/car-files.ts";
import { whyNoPty } from "../../support/pty-device.ts";
import { startGripbook } from "../../support/run-gripbook.ts";
import { createSlcanDevice } from "../../support/slcan-device.ts";

if (whyNoPty !== null) console.warn(`skipped: silence in a capture: ${whyNoPty}`);

test.skipIf(whyNoPty !== null)("capture says which source is silent, and when it is heard again, each once", async () => {
  const folder = mkdtempSync(join(tmpdir(), "gripbook-silence-"));
  const adapter = await createSlcanDevice();
  try {
    const setUp = carSetUp({ frontWheelSensors: true, rearWheelSensors: true, stamps: true });
    const sources = { can: { port: adapter.path, baud: 115200, bitrate: 500_000, adapterClock: true } };
    writeFileSync(join(folder, "setup.json"), JSON.stringify({ ...setUp, sources }));
    writeFileSync(join(folder, "car.dbc"), carSignalFile());
    const { child, ended } = startGripbook("capture", "--setup", join(folder, "setup.json"), "--book", join(folder, "a.gripbook"));
    let err = "";
    child.stderr?.on("data", (text: string) => {
      err += text;
    });
    const until = (met: () => boolean) => vi.waitFor(() => expect(met(), err).toBe(true), { timeout: 120_000, interval: 20 });
    // Some frames, or nothing was ever heard that could be silent.
    await until(() => adapter.open && adapter.sent >= 25);
    adapter.awake = false;
    await until(() => err.includes("silent"));
    adapter.awake = true;
    await until(() => err.includes("heard again\n"));
    child.kill("SIGTERM");
    const ran = await ended;
    expect(ran.err.split("\n").slice(0, 2)).toEqual([
      expect.stringMatching(/^CAN adapter: silent for \d+ s; the recording goes on, and it is heard again by itself$/),
      "CAN adapter: heard again",
    ]);
  } finally {
    await adapter.dispose();
    rmSync(folder, { recursive: true, force: true });
  }
});
