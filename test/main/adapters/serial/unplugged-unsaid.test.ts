/**
 * A device that is unplugged without a hang-up from its port: only the name goes, or leads to another device. On real PTYs whose other end stays
 * open, so that the kernel has nothing to say (tty_ioctl(4), hang-up is the master's close).
 */
import { renameSync, rmSync, symlinkSync, readlinkSync } from "node:fs";
import { afterEach, expect, test, vi } from "vitest";
import { createHostClock } from "../../../../src/main/adapters/host/host-clock.ts";
import { createSources } from "../../../../src/main/adapters/sources/create-sources.ts";
import type { ByteSource } from "../../../../src/main/ports/byte-source.ts";
import type { SetUp } from "../../../../src/shared/setup/set-up.ts";
import { type PtyDevice, whyNoPty } from "../../../support/pty-device.ts";
import { createSlcanDevice } from "../../../support/slcan-device.ts";

if (whyNoPty !== null) console.warn(`skipped: a device unplugged without a word: ${whyNoPty}`);
const ptyTest = test.skipIf(whyNoPty !== null);
const PATIENCE = { timeout: 60_000, interval: 20 };

const made: { devices: PtyDevice[]; sources: ByteSource[] } = { devices: [], sources: [] };
afterEach(async () => {
  await Promise.all(made.sources.splice(0).map((source) => source.stop()));
  await Promise.all(made.devices.splice(0).map((device) => device.dispose()));
});

function start(sources: SetUp["sources"]) {
  const heard = { bytes: 0, words: [] as string[], gaps: [] as boolean[] };
  for (const source of createSources({ sources }, createHostClock())) {
    made.sources.push(source);
    source.start({
      onBytes(bytes) {
        heard.bytes += bytes.length;
      },
      onReport: ({ state, words }) => heard.words.push(`${state}: ${words}`),
      onGap: (_cause, _fromNs, toNs) => heard.gaps.push(toNs !== null),
    });
  }
  return heard;
}

const sourceOn = (port: string) => ({ can: { port, baud: 115200, bitrate: 500_000, adapterClock: true } });

ptyTest(
  "its name is gone: told as unplugged, though the port itself is silent and an adapter behind it still answers",
  async () => {
    const adapter = await createSlcanDevice({ refuses: ["V"] });
    made.devices.push(adapter);
    const heard = start(sourceOn(adapter.path));
    await vi.waitFor(() => expect(heard.bytes).toBeGreaterThan(0), PATIENCE);
    const target = readlinkSync(adapter.path);
    adapter.awake = false;
    rmSync(adapter.path);
    await vi.waitFor(() => expect(heard.words.join("\n")).toMatch(/^absent: CAN adapter: \S+ is gone: plug it in again/m), PATIENCE);
    expect(heard.gaps).toEqual([false]);
    // Plugged in again under its name: it is heard again, and the hole ends.
    const before = heard.bytes;
    adapter.awake = true;
    symlinkSync(target, adapter.path);
    await vi.waitFor(() => expect(heard.bytes).toBeGreaterThan(before), PATIENCE);
    expect(heard.gaps).toEqual([false, true]);
  },
  120_000,
);

ptyTest(
  "another device has its name: that one is listened to, and the old one is written to no more",
  async () => {
    const [first, second] = [await createSlcanDevice({ refuses: ["V"] }), await createSlcanDevice({ refuses: ["V"] })];
    made.devices.push(first, second);
    const heard = start(sourceOn(first.path));
    await vi.waitFor(() => expect(heard.bytes).toBeGreaterThan(0), PATIENCE);
    first.awake = false;
    const written = first.written.length;
    renameSync(second.path, first.path);
    const before = heard.bytes;
    await vi.waitFor(() => expect(second.open).toBe(true), PATIENCE);
    await vi.waitFor(() => expect(heard.bytes).toBeGreaterThan(before), PATIENCE);
    expect(first.written.length).toBe(written);
    expect(heard.words.join("\n")).toContain("another device has its name");
  },
  120_000,
);

ptyTest(
  "a port that still brings bytes is not given up, whatever becomes of its name",
  async () => {
    const adapter = await createSlcanDevice({ refuses: ["V"] });
    made.devices.push(adapter);
    const heard = start(sourceOn(adapter.path));
    await vi.waitFor(() => expect(heard.bytes).toBeGreaterThan(0), PATIENCE);
    rmSync(adapter.path);
    const before = heard.bytes;
    // Some hundred frames: the name was looked at several times meanwhile.
    await vi.waitFor(() => expect(heard.bytes).toBeGreaterThan(before + 200 * 14), PATIENCE);
    expect(heard.gaps).toEqual([]);
    expect(heard.words.join("\n")).not.toContain("is gone");
  },
  120_000,
);
