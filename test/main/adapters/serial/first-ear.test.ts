/**
 * Silence is the time really listened to, not the time on a clock: a process that was stopped heard nothing of a port that was sending.
 * Sentence: gpsd's test logs (NMEA 0183).
 */
import { expect, test } from "vitest";
import { createFirstEar } from "../../../../src/main/adapters/serial/first-ear.ts";

const RMC = Buffer.from("$GPRMC,092725.00,A,4717.11437,N,00833.91522,E,0.004,77.52,091202,,,A*5E\r\n");

test("a process that stood still for a minute while it listened does not take that for silence: the receiver behind it is still heard", async () => {
  let stoodNs = 0;
  const clock = { monotonicNs: () => performance.now() * 1e6 + stoodNs };
  const ear = createFirstEar(clock);
  const voice = ear.listen(new AbortController().signal);
  // Everything that came meanwhile is read only now.
  stoodNs = 60e9;
  const talk = setInterval(() => ear.push(RMC, clock.monotonicNs()), 300);
  try {
    expect(await voice).toBe("receiver");
  } finally {
    clearInterval(talk);
  }
});
