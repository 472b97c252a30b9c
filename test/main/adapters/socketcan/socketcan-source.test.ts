/**
 * SocketCAN through candump. The kernel's own virtual interface (vcan) is used where it can be made; elsewhere a stand-in on PATH prints
 * lines that python-can's CanutilsLogWriter wrote (Debian python3-can), in candump's log form.
 */
import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { stateOf } from "../../../../src/main/adapters/socketcan/interface-state.ts";
import { createCandumpParser } from "../../../../src/shared/frames/candump-parser.ts";
import { FrameBatch } from "../../../../src/shared/frames/frame-batch.ts";
import { canLink, createFakeCandump, type FakeCandump } from "../../../support/fake-candump.ts";
import { type HeardSource, hearSources } from "../../../support/heard-source.ts";
import { whyNoPty } from "../../../support/pty-device.ts";

const PYTHON = "/usr/bin/python3";
const IP = "ip";
const hasPythonCan = spawnSync(PYTHON, ["-c", "import can"]).status === 0;
const hasVcan = spawnSync(IP, ["link", "add", "gripvcan0", "type", "vcan"]).status === 0;
if (whyNoPty !== null) console.warn(`skipped: SocketCAN by a stand-in: ${whyNoPty}`);
if (!hasPythonCan) console.warn("skipped: lines of python-can's CanutilsLogWriter: python3-can is not installed");
if (!hasVcan) console.warn("skipped: a virtual CAN interface: this kernel or this user cannot make one (ip link add type vcan)");
const standInTest = test.skipIf(whyNoPty !== null);

const FRAME = "(1936509052.249713) can0 123#AABB\n";
const PATH = process.env.PATH;
let candump: FakeCandump;
let heard: HeardSource | null = null;
beforeEach(async () => {
  candump = await createFakeCandump();
  candump.link(canLink(["LISTEN-ONLY"]));
});
afterEach(async () => {
  await heard?.stop();
  heard = null;
  process.env.PATH = PATH;
  await candump.dispose();
});
const hear = (name = "can0"): HeardSource => {
  process.env.PATH = `${candump.folder}:${PATH ?? ""}`;
  heard = hearSources({ can: { socketcan: name } });
  return heard;
};
const until = (met: () => boolean) => expect.poll(met, { interval: 10, timeout: 20_000 }).toBe(true);
const said = (of: HeardSource, words: RegExp) => until(() => of.words.some((each) => words.test(each)));

standInTest("candump is started with fixed arguments, every line is heard as it comes, and it is ended with the source", async () => {
  const of = hear();
  await said(of, /waiting: CAN adapter: interface can0 is open, no frame yet/);
  await until(() => candump.runs);
  candump.write(FRAME.repeat(3));
  await until(() => of.text === FRAME.repeat(3));
  await said(of, /^fresh: $/);
  await of.stop();
  await until(() => !candump.runs);
  expect(candump.starts()).toEqual(["-L -d can0"]);
  expect(candump.asked()).toEqual(["-details -json link show can0"]);
  expect(of.sources.map(({ canFormat }) => canFormat)).toEqual(["candump"]);
});

test.skipIf(whyNoPty !== null || !hasPythonCan)(
  "lines that python-can writes are read frame by frame, with the kernel's stamps",
  async () => {
    const folder = mkdtempSync(join(tmpdir(), "gripbook-canutils-"));
    try {
      const log = join(folder, "bus.log");
      const script = [
        "import can, sys",
        "w = can.CanutilsLogWriter(sys.argv[1], channel='can0')",
        "w.on_message_received(can.Message(timestamp=1936509052.25, arbitration_id=0x123, is_extended_id=False, data=[1,2,3]))",
        "w.on_message_received(can.Message(timestamp=1936509052.26, arbitration_id=0x1abcdef0, is_extended_id=True, data=[255]*8))",
        "w.on_message_received(can.Message(timestamp=1936509052.2705, arbitration_id=0x124, is_extended_id=False, is_fd=True, data=[7]*16))",
        "w.stop()",
      ].join("\n");
      expect(spawnSync(PYTHON, ["-c", script, log]).status).toBe(0);
      const written = readFileSync(log, "latin1");
      const of = hear();
      await until(() => candump.runs);
      candump.write(written);
      await until(() => of.text === written);
      const batch = new FrameBatch();
      const parser = createCandumpParser();
      parser.push(Buffer.from(of.text, "latin1"), 0, batch);
      expect(parser.counts).toMatchObject({ frames: 3, fdFrames: 1, malformedLines: 0 });
      expect(Array.from(batch.adapterMs.subarray(0, 3), (ms) => Math.round(ms * 1000) / 1000)).toEqual([0, 10, 20.5]);
    } finally {
      rmSync(folder, { recursive: true, force: true });
    }
  },
);

standInTest("an interface that does not only listen is used, and said with the command that sets it", async () => {
  candump.link(canLink([]));
  const of = hear();
  await until(() => candump.runs);
  candump.write(FRAME);
  await said(
    of,
    /fresh: CAN interface can0 does not only listen: its controller acknowledges .* sudo ip link set can0 up type can bitrate 500000 listen-only on/,
  );
});

standInTest("an interface that goes away and comes back: said, opened again by itself, and the hole is named", async () => {
  const of = hear();
  await until(() => candump.runs);
  candump.write(FRAME);
  await until(() => of.text === FRAME);
  candump.link(null);
  candump.end();
  await said(of, /absent: CAN adapter: interface can0 is gone \(.*\): it is opened again by itself/);
  await said(of, /absent: CAN adapter: interface can0 is not there: plug the adapter in, or correct sources\.can\.socketcan/);
  candump.link(canLink(["LISTEN-ONLY"], false));
  await said(of, /absent: CAN adapter: interface can0 is down: sudo ip link set can0 up type can bitrate 500000 listen-only on/);
  candump.link(canLink(["LISTEN-ONLY"]));
  await until(() => {
    candump.write(FRAME);
    return of.text.length > FRAME.length;
  });
  expect(of.gaps.map(({ over }) => over)).toEqual([false, true]);
});

standInTest("frames that the kernel dropped are a hole with their number; garbage is called what it is", async () => {
  const of = hear();
  await until(() => candump.runs);
  candump.write(FRAME);
  await until(() => of.text === FRAME);
  // As candump 2020.11 prints it (its own format text: `strings /usr/bin/candump`).
  candump.write(`DROPCOUNT: dropped 12 CAN frames on 'can0' socket (total drops 12)\n${FRAME}`);
  await until(() => of.gaps.length > 0);
  expect(of.gaps).toEqual([{ cause: "the kernel dropped 12 frames: this computer was too busy", over: true }]);
  await until(() => {
    candump.write("no frame\n".repeat(100));
    return of.words.some((words) => /wrong: CAN adapter: candump on can0 prints no frame that can be read/.test(words));
  });
});

test("without candump, and without CAN in the kernel, it is said what to do", async () => {
  process.env.PATH = "/nonexistent";
  heard = hearSources({ can: { socketcan: "can0" } });
  await said(heard, /absent: CAN adapter: candump is not installed: `sudo apt-get install can-utils`/);
});

test("what the system shows of an interface: up or down, listen-only or not, and nothing of one that is no CAN interface", () => {
  const of = (link: object) => stateOf(JSON.stringify([link]));
  expect(of(canLink(["LISTEN-ONLY", "BERR-REPORTING"]))).toEqual({ state: "up", onlyListens: true, bitrate: 500_000 });
  expect(of(canLink(["LOOPBACK"]))).toMatchObject({ onlyListens: false });
  expect(of(canLink([], false))).toMatchObject({ state: "down", onlyListens: false });
  expect(of({ flags: ["UP"], link_type: "can", linkinfo: { info_kind: "vcan" } })).toEqual({
    state: "up",
    onlyListens: true,
    bitrate: null,
  });
  expect(of({ flags: ["UP"], link_type: "can", linkinfo: { info_kind: "slcan" } })).toMatchObject({ onlyListens: null });
  expect(of({ flags: ["LOOPBACK", "UP"], link_type: "loopback" })).toBeNull();
});

test.skipIf(!hasVcan)("a virtual interface of the kernel is opened by the real candump", async () => {
  spawnSync(IP, ["link", "set", "gripvcan0", "up"]);
  try {
    heard = hearSources({ can: { socketcan: "gripvcan0" } });
    await said(heard, /waiting: CAN adapter: interface gripvcan0 is open, no frame yet/);
  } finally {
    await heard?.stop();
    spawnSync(IP, ["link", "del", "gripvcan0"]);
  }
});
