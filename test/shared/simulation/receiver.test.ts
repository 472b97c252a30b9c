/** The receiver's sentences against published checksums and gpsd's own decoder, and their speed, delay and rest behaviour against the car's truth. */
import { execFileSync, spawnSync } from "node:child_process";
import { expect, test } from "vitest";
import { createCarModel } from "../../../src/shared/simulation/car-model.ts";
import { drawCar } from "../../../src/shared/simulation/car-parameters.ts";
import { createHostClock } from "../../../src/shared/simulation/host-clock.ts";
import { sentence } from "../../../src/shared/simulation/nmea-text.ts";
import type { SimulatedPacket } from "../../../src/shared/simulation/packets.ts";
import { DEFAULT_RECEIVER, type ReceiverPlan } from "../../../src/shared/simulation/plan.ts";
import { createRandom } from "../../../src/shared/simulation/random.ts";
import { createReceiver } from "../../../src/shared/simulation/receiver.ts";

const START_UTC_US = 1935655199.87e6; // 2031-05-04T09:59:59.87Z
const GPSDECODE = "/usr/bin/gpsdecode";
const hasGpsdecode = spawnSync(GPSDECODE, ["-V"]).error === undefined;

/** Sentences of a receiver carried at speeds of our choosing, with their arrival. */
function listen(plan: Partial<ReceiverPlan>, seconds: number, speedAt: (tS: number) => number) {
  const model = createCarModel(drawCar(createRandom(1, "car")), 1.29, 0.9);
  const receiver = createReceiver({
    plan: { ...DEFAULT_RECEIVER, ...plan },
    random: createRandom(5, "receiver"),
    host: createHostClock(0, []),
    startUtcUs: START_UTC_US,
  });
  const packets: SimulatedPacket[] = [];
  for (let ms = 0; ms < seconds * 1e3; ms += 1) {
    const mps = speedAt(ms / 1e3);
    model.state.speedMps = mps;
    model.state.northM += mps * 1e-3;
    receiver.step(ms, model.state, packets);
  }
  const lines = packets.map((p) => ({ text: Buffer.from(p.bytes).toString("latin1"), arrivalS: p.arrivalUs / 1e6 }));
  return { lines, leastDelayS: receiver.leastDelayS() };
}

const kmhOf = (line: { text: string }) => Number(/^\$GNVTG,[^,]*,T?,,M,[\d.]*,N,([\d.]*),K/.exec(line.text)?.[1]);
const deviation = (values: number[]) => {
  const mean = values.reduce((a, b) => a + b, 0) / values.length;
  return Math.sqrt(values.reduce((a, b) => a + (b - mean) ** 2, 0) / values.length);
};

test("sentence() gives the checksums gpsd publishes (www/NMEA.adoc)", () => {
  for (const good of [
    "$GNGGA,001043.00,4404.14036,N,12118.85961,W,1,12,0.98,1113.0,M,-21.3,M,,*47",
    "$GNRMC,001031.00,A,4404.13993,N,12118.86023,W,0.146,,100117,,,A*7B",
    "$GPVTG,220.86,T,,M,2.550,N,4.724,K,A*34",
    "$GPZDA,160012.71,11,03,2004,-1,00*7D",
  ]) {
    expect(sentence(good.slice(1, -3))).toBe(`${good}\r\n`);
  }
});

test.skipIf(!hasGpsdecode)("receiver: gpsdecode reads every epoch, with the date, place and speed that were meant", () => {
  const { lines } = listen({ whiteMps: 0, correlatedMps: 0 }, 20, (tS) => 2 * tS);
  const decoded = execFileSync(GPSDECODE, { input: lines.map((line) => line.text).join(""), maxBuffer: 1 << 26 }).toString();
  const fixes = decoded
    .split("\n")
    .filter((line) => line.includes('"class":"TPV"'))
    .map((line) => JSON.parse(line) as { time: string; mode: number; lat: number; lon: number; speed: number; altMSL?: number });
  const seen = fixes.filter((fix) => fix.mode >= 2 && fix.speed > 1);
  expect(seen.length).toBeGreaterThan(180);
  for (const fix of seen) {
    const tS = (Date.parse(fix.time) * 1e3 - START_UTC_US) / 1e6;
    // The reported speed is the true one of a moment ago, the receiver's inner lag.
    expect(fix.speed).toBeCloseTo(2 * (tS - 0.45 * DEFAULT_RECEIVER.delayS), 2);
    expect(Math.abs(fix.lat + 30)).toBeLessThan(0.02);
    expect(Math.abs(fix.lon + 20)).toBeLessThan(0.02);
  }
});

test("receiver: sentences come in order, as fast as the line carries them, checksummed, all of one epoch with one time", () => {
  const { lines } = listen({ rateHz: 25, baud: 115200 }, 10, () => 12);
  for (const [i, { text, arrivalS }] of lines.entries()) {
    expect(text).toMatch(/^\$GN(RMC|VTG|GGA|GSA|ZDA),.*\*[0-9A-F]{2}\r\n$/);
    let sum = 0;
    for (const letter of text.slice(1, -5)) sum ^= letter.charCodeAt(0);
    expect(Number.parseInt(text.slice(-4, -2), 16)).toBe(sum);
    const before = lines[i - 1];
    if (before !== undefined) expect(arrivalS - before.arrivalS).toBeGreaterThanOrEqual((before.text.length * 10) / 115200 - 2e-6);
  }
  expect(lines.filter((line) => line.text.startsWith("$GNRMC")).length).toBeGreaterThanOrEqual(244);
  expect(new Set(lines.map((line) => /^\$GN(?:RMC|GGA),([\d.]+)/.exec(line.text)?.[1])).size - 1).toBe(
    lines.filter((line) => line.text.startsWith("$GNRMC")).length,
  );
});

test("receiver: its least delay is the one asked for, and a ramp shows it as that much late", () => {
  for (const delayS of [0.02, 0.06, 0.2]) {
    const { lines, leastDelayS } = listen({ delayS, whiteMps: 0, correlatedMps: 0, jitterS: 0.002 }, 60, (tS) => tS / 2);
    expect(leastDelayS).toBeGreaterThanOrEqual(delayS - 2e-6);
    expect(leastDelayS).toBeLessThan(delayS + 2e-4);
    const late = lines.flatMap((line, i) =>
      line.text.startsWith("$GNRMC") ? [line.arrivalS - 2 * (kmhOf(lines[i + 1] as { text: string }) / 3.6)] : [],
    );
    expect(Math.min(...late.slice(5))).toBeCloseTo(leastDelayS as number, 2);
  }
});

test("receiver: noise has the spread asked for, white and correlated, and the correlated part its time", () => {
  const speeds = (plan: Partial<ReceiverPlan>) =>
    listen({ ...plan, rateHz: 10 }, 600, () => 20)
      .lines.filter((line) => line.text.startsWith("$GNVTG"))
      .map((line) => kmhOf(line) / 3.6);
  const white = speeds({ whiteMps: 0.03, correlatedMps: 0 });
  expect(deviation(white)).toBeCloseTo(0.03, 2);
  expect(deviation(white.slice(1).map((v, i) => v - white[i])) / Math.SQRT2).toBeCloseTo(0.03, 2);
  const slow = speeds({ whiteMps: 0, correlatedMps: 0.05, correlationS: 0.5 });
  expect(Math.abs(deviation(slow) / 0.05 - 1)).toBeLessThan(0.15);
  // Closed form of a first-order process: var of a 0.1 s step = 2 sigma^2 (1 - exp(-0.1 / 0.5)).
  const step = deviation(slow.slice(1).map((v, i) => v - slow[i]));
  expect(Math.abs(step / (0.05 * Math.sqrt(2 * (1 - Math.exp(-0.2)))) - 1)).toBeLessThan(0.1);
});

test("receiver at rest says the length of its noise without a course, or a held 0", () => {
  const noisy = listen({ atRest: "noisy" }, 30, () => 0).lines.filter((line) => line.text.startsWith("$GNVTG"));
  expect(noisy.map(kmhOf).every((kmh) => kmh > 0 && kmh < 0.7)).toBe(true);
  expect(noisy.every((line) => line.text.startsWith("$GNVTG,,,,M,"))).toBe(true);
  const held = listen({ atRest: "held" }, 30, () => 0).lines.filter((line) => line.text.startsWith("$GNVTG"));
  expect(held.filter((line) => kmhOf(line) === 0).length).toBeGreaterThan(0.98 * held.length);
});

test("receiver without a fix leaves speed and place empty and says void", () => {
  const { lines } = listen({ lostFix: [{ atS: 4, seconds: 2 }] }, 10, () => 10);
  const lost = lines.filter((line) => /^\$GNRMC,[\d.]+,V,,,,,,,040531,,,N\*/.test(line.text));
  expect(lost).toHaveLength(20);
  expect(lines.filter((line) => line.text.startsWith("$GNVTG,,,,M,,N,,K,N*"))).toHaveLength(20);
});
