/** The endless car: the same bytes however it is asked, standing first, launches again and again, gentle driving between. */
import { expect, test } from "vitest";
import { createLiveCar } from "../../../src/shared/simulation/live-car.ts";

/** All bytes of both streams and arrivals up to a moment, asked for in steps of `stepUs`. */
function listen(seed: number, untilUs: number, stepUs: number, driveSeed?: number): string {
  const car = createLiveCar(driveSeed === undefined ? { seed } : { seed, driveSeed });
  const parts: string[] = [];
  for (let us = stepUs; us <= untilUs; us += stepUs)
    for (const p of car.advance(us)) parts.push(`${p.stream}${p.arrivalUs}:${Buffer.from(p.bytes).toString("latin1")}`);
  return parts.join("");
}

test("createLiveCar() gives the same packets whatever the steps it is asked in", () => {
  expect(listen(5, 12e6, 4_000) === listen(5, 12e6, 500_000)).toBe(true);
  expect(listen(5, 2e6, 4_000) === listen(6, 2e6, 4_000)).toBe(false);
  expect(listen(5, 2e6, 4_000) === listen(5, 2e6, 4_000, 6)).toBe(false);
});

test("createLiveCar() hands nothing over before its time", () => {
  const car = createLiveCar({ seed: 1 });
  for (let us = 10_000; us < 3e6; us += 10_000) for (const p of car.advance(us)) expect(p.arrivalUs).toBeLessThanOrEqual(us + 1000);
});

test("createLiveCar() stands at least 6 s, then launches to over 100 mph, and again within the next ten minutes, control off and on in turn", () => {
  const car = createLiveCar({ seed: 1, startUnixS: 1_900_000_000 });
  const pedal: { s: number; percent: number }[] = [];
  const gentle: number[] = [];
  const control = new Map<number, boolean>();
  let switchOn = true;
  for (let s = 1; s <= 600; s += 1) {
    for (const p of car.advance(s * 1e6)) {
      for (const line of Buffer.from(p.bytes).toString("latin1").split("\r")) {
        // TorquePath, byte 6: bit 7 is the switch. DriverInputs, bytes 0 and 1: pedal in 0.1 %, low byte first.
        if (line.startsWith("t1B08")) switchOn = (Number.parseInt(line.slice(17, 19), 16) & 0x80) !== 0;
        if (!line.startsWith("t1204")) continue;
        const percent = 0.1 * (Number.parseInt(line.slice(5, 7), 16) + 256 * (Number.parseInt(line.slice(7, 9), 16) & 3));
        if (percent > 90 && s - (pedal.at(-1)?.s ?? -99) > 20) {
          pedal.push({ s, percent });
          control.set(s, switchOn);
        } else if (percent > 5 && percent < 50) gentle.push(s);
      }
    }
  }
  expect(pedal.length).toBeGreaterThanOrEqual(4);
  expect(pedal[0]?.s).toBeGreaterThan(6);
  expect([...control.values()].slice(0, 4)).toEqual([false, true, false, true]);
  expect(gentle.filter((s) => s > (pedal[0]?.s as number) + 15 && s < (pedal[1]?.s as number) - 6).length).toBeGreaterThan(1000);
});
