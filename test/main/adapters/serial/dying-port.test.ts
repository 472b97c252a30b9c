/** A port that dies while something is written to it. The outside reference is a real PTY whose other end is gone: the kernel answers EIO. */
import { describe, expect, test } from "vitest";
import { createHostClock } from "../../../../src/main/adapters/host/host-clock.ts";
import { openAdapterLine } from "../../../../src/main/adapters/serial/serial-line.ts";
import { createPtyDevice, whyNoPty } from "../../../support/pty-device.ts";

const pause = (ms: number) => new Promise<void>((done) => setTimeout(done, ms));

if (whyNoPty !== null) console.warn(`SKIPPED: ${whyNoPty}`);

describe.skipIf(whyNoPty !== null)("a port that dies", () => {
  test("while it is written to ends in one line, and never in an error that nobody catches", async () => {
    for (let i = 0; i < 10; i += 1) {
      const device = await createPtyDevice();
      await device.plug();
      const ends: string[] = [];
      const line = await openAdapterLine({
        path: device.path,
        baud: 115200,
        clock: createHostClock(),
        onBytes: () => undefined,
        onClose: (why) => ends.push(why),
      });
      const gone = device.unplug();
      // As often as it takes: the write meets the dead port before anybody is told of it, or after.
      for (let tries = 0; ends.length === 0 && tries < 1000; tries += 1) {
        await Promise.race([line.send("F").catch(() => undefined), pause(20)]);
        await pause(1);
      }
      await gone;
      await line.close();
      await device.dispose();
      expect(ends).toHaveLength(1);
      expect(ends[0]).toMatch(/\S/);
    }
  });
});
