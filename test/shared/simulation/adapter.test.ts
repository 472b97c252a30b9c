/** The adapter's lines against python-can's SLCAN reader; its stamps against the published wrap; its bursts against their timer. */
import { execFileSync, spawnSync } from "node:child_process";
import { expect, test } from "vitest";
import { createAdapter } from "../../../src/shared/simulation/adapter.ts";
import { createHostClock } from "../../../src/shared/simulation/host-clock.ts";
import type { SimulatedPacket } from "../../../src/shared/simulation/packets.ts";
import { type BusPlan, DEFAULT_BUS } from "../../../src/shared/simulation/plan.ts";
import { createRandom } from "../../../src/shared/simulation/random.ts";

const PYTHON = "/usr/bin/python3";
const hasPythonCan = spawnSync(PYTHON, ["-c", "import can"]).status === 0;
// python-can 4.1 reads frames without stamps from a loop port that stands in for the adapter.
const READER = `
import can, sys
bus = can.Bus(interface="slcan", channel="loop://", bitrate=500000, sleep_after_open=0)
port = bus.serialPortOrig
port.timeout = 0
port.read(64)
for line in sys.stdin.buffer.read().split(b"\\r"):
    if not line: continue
    port.write(line + b"\\r")
    port.timeout = 0
    m = bus.recv(0.5)
    print("%X %d %s" % (m.arbitration_id, m.is_extended_id, bytes(m.data).hex().upper()))
`;

function send(plan: Partial<BusPlan>, seconds: number) {
  const adapter = createAdapter({ plan: { ...DEFAULT_BUS, ...plan }, random: createRandom(3, "adapter"), host: createHostClock(0, []) });
  const random = createRandom(9, "frames");
  const packets: SimulatedPacket[] = [];
  const frames: { text: string; sampledS: number }[] = [];
  for (let ms = 0; ms < seconds * 1e3; ms += 1) {
    if (ms % 3 === 0) {
      const extended = random.next() < 0.3;
      const id = Math.floor(random.next() * (extended ? 2 ** 29 : 2 ** 11));
      const data = Uint8Array.from({ length: Math.floor(random.next() * 9) }, () => Math.floor(256 * random.next()));
      frames.push({
        text: `${id.toString(16).toUpperCase()} ${extended ? 1 : 0} ${Buffer.from(data).toString("hex").toUpperCase()}`,
        sampledS: ms / 1e3,
      });
      adapter.frame(id, extended, data, ms / 1e3, packets);
    }
    adapter.flush(ms / 1e3, packets);
  }
  adapter.flush(Number.POSITIVE_INFINITY, packets);
  const bytes = Buffer.concat(packets.map((p) => p.bytes)).toString("latin1");
  const lines = packets.flatMap((p) =>
    Buffer.from(p.bytes)
      .toString("latin1")
      .split("\r")
      .filter((line) => line !== "")
      .map((line) => ({ line, arrivalS: p.arrivalUs / 1e6 })),
  );
  return { packets, frames, bytes, lines, latenessS: adapter.latenessS() };
}

test.skipIf(!hasPythonCan)("adapter: python-can reads the very frames that were sent, 11 and 29 bits, 0 to 8 bytes", () => {
  const { frames, bytes } = send({ stamps: false }, 3);
  const read = execFileSync(PYTHON, ["-c", READER], { input: Buffer.from(bytes, "latin1") })
    .toString()
    .trimEnd()
    .split("\n")
    .map((line) => line.trimEnd());
  expect(read).toEqual(frames.map((frame) => frame.text.trimEnd()));
});

test("adapter: stamps count whole milliseconds modulo 60,000 at the clock's own rate", () => {
  for (const driftPpm of [0, 200]) {
    const { lines, frames } = send({ driftPpm }, 150);
    const stamps = lines.map(({ line }) => Number.parseInt(line.slice(-4), 16));
    expect(Math.max(...stamps)).toBeLessThan(60000);
    let unwrapped = stamps[0];
    for (let i = 1; i < stamps.length; i += 1) unwrapped += (stamps[i] - stamps[i - 1] + 60000) % 60000;
    const trueMs = 1e3 * ((frames.at(-1) as { sampledS: number }).sampledS - (frames[0] as { sampledS: number }).sampledS);
    expect(Math.abs(unwrapped - stamps[0] - trueMs * (1 + driftPpm * 1e-6))).toBeLessThan(2);
  }
});

test("adapter: a frame arrives after its stamp and within the burst timer; a 16 ms timer gives bursts", () => {
  for (const burstS of [0.001, 0.016]) {
    const { lines, frames, packets, latenessS } = send({ burstS }, 20);
    const delays = lines.map(({ arrivalS }, i) => arrivalS - (frames[i] as { sampledS: number }).sampledS);
    expect(Math.min(...delays)).toBeGreaterThan(0.0005);
    expect(Math.max(...delays)).toBeLessThan(burstS + 0.004);
    // The delay of a mapped frame: wait before the stamp (0.3 ms, up to 0.4 ms of bus, one frame) and the shortest way to the host.
    expect(latenessS).toBeGreaterThan(0.0008);
    expect(latenessS).toBeLessThan(0.0014);
    if (burstS > 0.01) expect(packets.length).toBeLessThan(0.5 * frames.length);
  }
});

test("adapter that lost its supply loses frames for a moment and starts counting at zero", () => {
  const { lines, frames } = send({ restartsAtS: [5] }, 12);
  expect(lines.length).toBeLessThan(frames.length);
  const gap = lines.findIndex(({ arrivalS }, i) => i > 0 && arrivalS - (lines[i - 1] as { arrivalS: number }).arrivalS > 1);
  expect(Number.parseInt((lines[gap] as { line: string }).line.slice(-4), 16)).toBeLessThan(10);
});
