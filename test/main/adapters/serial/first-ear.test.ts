/** Silence is what was listened to, not what a clock says: a process that stood still heard nothing of a port that talked. Sentence: gpsd's test logs (NMEA 0183). */
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
