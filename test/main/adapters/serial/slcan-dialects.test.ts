/**
 * Dialects of SLCAN on real PTYs: how commands are answered, how frames are stamped, and CAN FD frames. Millisecond stamps of four hex
 * digits, 0000 to EA5F, and the answers CR and BEL: the adapter command sheet (docs/check-values.md, SLCAN). Eight digits of microseconds
 * and the letters d, D, b, B: adapter firmware for FD (the same place). Linux's slcan driver reads the same frame letters.
 */
import { afterEach, expect, test } from "vitest";
import { createFrameTally } from "../../../../src/shared/frames/frame-tally.ts";
import { FrameBatch } from "../../../../src/shared/frames/frame-batch.ts";
import { createSlcanParser } from "../../../../src/shared/frames/slcan-parser.ts";
import { createWiringTap } from "../../../../src/shared/wiring/wiring-tap.ts";
import { hearSources } from "../../../support/heard-source.ts";
import { createPtyDevice, type PtyDevice, whyNoPty } from "../../../support/pty-device.ts";

if (whyNoPty !== null) console.warn(`skipped: dialects of SLCAN: ${whyNoPty}`);
const ptyTest = test.skipIf(whyNoPty !== null);

const SAFE = /^((C|S[0-8]|Z[01]|L|V|N|F)\r)+$/;
const opened: (() => Promise<unknown>)[] = [];
afterEach(async () => {
  for (const close of opened.splice(0).reverse()) await close();
});

/** An adapter that answers each command as `answers` says by its first letter, else by CR, and sends `sent` once it listens. */
async function adapter(sent: string, answers: Readonly<Record<string, string>> = {}): Promise<PtyDevice> {
  const device = await createPtyDevice();
  opened.push(() => device.dispose());
  await device.plug();
  let line = "";
  device.onWritten((bytes) => {
    for (const letter of bytes.toString("latin1")) {
      line += letter;
      if (letter !== "\r") continue;
      device.write(answers[line[0] ?? ""] ?? "\r");
      if (line === "L\r") device.write(sent);
      line = "";
    }
  });
  return device;
}

/** What Gripbook makes of the bytes: frames with their unwrapped stamps, ms. */
async function heardFrom(device: PtyDevice, length: number) {
  const can = { port: device.path, baud: 115200, bitrate: 500_000, adapterClock: true };
  const heard = hearSources({ can });
  opened.push(() => heard.stop());
  await expect.poll(() => heard.text.length, { interval: 10, timeout: 20_000 }).toBe(length);
  const batch = new FrameBatch();
  const parser = createSlcanParser();
  parser.push(Buffer.from(heard.text, "latin1"), 0, batch);
  expect(device.written.toString("latin1")).toMatch(SAFE);
  expect(heard.words.filter((words) => /^(wrong|absent)/.test(words))).toEqual([]);
  return { batch, counts: parser.counts, stampsMs: Array.from(batch.adapterMs.subarray(0, batch.length)) };
}

ptyTest("stamps of milliseconds and of microseconds are read by their digits, over the end of the counter too", async () => {
  const milli = ["t1230EA5E\r", "t1230EA5F\r", "t12300000\r"].join("");
  const micro = ["t1230FFFFFE0C\r", "t123000000000\r", "T0000012310A000003E8\r"].join("");
  const devices = [await adapter(milli), await adapter(micro)] as const;
  const [ms, us] = await Promise.all([heardFrom(devices[0], milli.length), heardFrom(devices[1], micro.length)]);
  expect(ms.stampsMs.map((at) => at - (ms.stampsMs[0] ?? 0))).toEqual([0, 1, 2]);
  const steps = us.stampsMs.map((at) => at - (us.stampsMs[0] ?? 0));
  for (const [i, step] of [0, 0.5, 1.5].entries()) expect(steps[i]).toBeCloseTo(step, 6);
});

ptyTest(
  "an adapter without stamps that refuses them by BEL, and one that answers z, status and versions in between, are listened to",
  async () => {
    const plain = "t1232AABB\rt1232AABC\r";
    const chatty = "z\rt1232AABB0010\rF00\rV1013\rsa000000\rt1232AABB0011\r";
    const devices = [await adapter(plain, { Z: "\x07" }), await adapter(chatty, { S: "\r\n", C: "\r\n" })] as const;
    const [bare, talks] = await Promise.all([heardFrom(devices[0], plain.length), heardFrom(devices[1], chatty.length)]);
    expect(bare.counts).toMatchObject({ frames: 2, stampedFrames: 0, droppedBytes: 0 });
    expect(bare.stampsMs).toEqual([Number.NaN, Number.NaN]);
    expect(talks.counts).toMatchObject({ frames: 2, stampedFrames: 2, droppedBytes: 0, transmitConfirmations: 1, otherReplies: 3 });
  },
);

ptyTest("CAN FD frames are read, counted and named", async () => {
  const data = "00112233445566778899AABBCCDDEEFF";
  const sent = `t1232AABB0010\rd1239${data.slice(0, 24)}0011\rD1ABCDEF0A${data}0012\rb12410A0013\rB1ABCDEF110B0014\r`;
  const { batch, counts } = await heardFrom(await adapter(sent), sent.length);
  expect(counts).toMatchObject({ frames: 5, fdFrames: 4, stampedFrames: 5, droppedBytes: 0, malformedLines: 0 });
  const tally = createFrameTally();
  tally.push(batch);
  expect(tally.seen().filter(({ fd }) => fd)).toHaveLength(4);
  expect(tally.seen()).toContainEqual({ id: 0x1abcdef0, extended: true, frames: 1, fd: true });
  const tap = createWiringTap([]);
  tap.push({ stream: "can", arrivalNs: 0, bytes: Buffer.from(sent, "latin1") }, null);
  expect(tap.health("can", 1e6)).toEqual({ state: "fresh", words: "just begun, 4 CAN FD frames" });
});
