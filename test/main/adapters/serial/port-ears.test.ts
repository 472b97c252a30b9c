/**
 * Listening on real ports (PTYs) that a person cancels: it ends at once, shows how far it was, and leaves the port free; an opened adapter
 * is closed by C.
 */
import { readdirSync, readlinkSync, realpathSync } from "node:fs";
import { expect, test } from "vitest";
import { createHostClock } from "../../../../src/main/adapters/host/host-clock.ts";
import { createPortEars } from "../../../../src/main/adapters/serial/port-ears.ts";
import { CANCELLED } from "../../../../src/shared/contract/contract-error.ts";
import { answerLikeAdapter, createPtyDevice, whyNoPty } from "../../../support/pty-device.ts";

if (whyNoPty !== null) console.warn(`SKIPPED: ${whyNoPty}`);

const holds = (path: string) =>
  readdirSync("/proc/self/fd").some((fd) => {
    try {
      return readlinkSync(`/proc/self/fd/${fd}`) === realpathSync(path);
    } catch {
      // The descriptor that listed the folder no longer exists.
      return false;
    }
  });

test.skipIf(whyNoPty !== null)("hear() and list() are cancelled within a moment and hold no port", async () => {
  const device = await createPtyDevice();
  await device.plug();
  const ears = createPortEars(createHostClock());
  try {
    for (const listen of [
      (listening: Parameters<typeof ears.hear>[2]) => ears.hear(device.path, null, listening),
      (listening: Parameters<typeof ears.hear>[2]) => ears.list([device.path], [], listening),
    ]) {
      const controller = new AbortController();
      const steps: string[] = [];
      const asked = listen({ signal: controller.signal, onStep: (words, share) => steps.push(`${words} ${share}`) });
      asked.catch(() => undefined);
      for (let i = 0; i < 12_000 && !holds(device.path); i += 1) await new Promise((resolve) => setTimeout(resolve, 10));
      expect(holds(device.path)).toBe(true);
      expect(steps[0]).toMatch(/^Listening on .* 0$/);
      controller.abort(new RangeError(CANCELLED));
      await expect(asked).rejects.toThrow(CANCELLED);
      expect(holds(device.path)).toBe(false);
    }
    expect(device.written).toHaveLength(0);
  } finally {
    await device.dispose();
  }
});

test.skipIf(whyNoPty !== null)("findBitrate() cancelled in the middle closes the adapter's channel before the port", async () => {
  const device = await createPtyDevice();
  await device.plug();
  answerLikeAdapter(device, {});
  const controller = new AbortController();
  const rates: string[] = [];
  try {
    const source = { port: device.path, baud: 115200, bitrate: 500_000, adapterClock: true };
    const asked = createPortEars(createHostClock()).findBitrate(source, {
      signal: controller.signal,
      onStep: (words) => rates.push(words),
    });
    asked.catch(() => undefined);
    for (let i = 0; i < 300 && !device.written.toString("latin1").includes("L\r"); i += 1)
      await new Promise((resolve) => setTimeout(resolve, 10));
    controller.abort(new RangeError(CANCELLED));
    await expect(asked).rejects.toThrow(CANCELLED);
    expect(rates).toEqual(["Listening to the bus at 500 kbit/s"]);
    // The device's side gets the last byte a moment after the port is closed.
    await expect.poll(() => device.written.toString("latin1")).toMatch(/^((C|S[0-8]|Z[01]|L|V|N|F)\r)*L\rC\r$/);
    expect(holds(device.path)).toBe(false);
  } finally {
    await device.dispose();
  }
});
