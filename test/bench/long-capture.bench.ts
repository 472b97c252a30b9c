/**
 * Hours of capture in simulated time through the core and a real book: memory must stay flat after the first minutes and nothing may be dropped
 * (docs/design.md, figures to reach). GRIPBOOK_HOURS says how many (1). Exits 1 when the heap grows by more than a quarter or a packet is missing.
 */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { createLiveCar } from "../../src/shared/simulation/live-car.ts";
import type { SimulatedPacket } from "../../src/shared/simulation/packets.ts";
import { driveCore } from "../support/driven-core.ts";

const HOURS = Number(process.env.GRIPBOOK_HOURS ?? 1);
const STEP_US = 10e6;
/** The live session keeps four minutes; from ten on it is as full as it gets. */
const SETTLED_US = 600e6;
const MOST_GROWTH = 1.25;

const folder = mkdtempSync(join(tmpdir(), "gripbook-"));
const car = createLiveCar({ seed: 1 });
const packets: SimulatedPacket[] = [];
const driven = driveCore({ file: join(folder, "long.gripbook"), packets, alwaysArmed: true });
let sent = 0;
let settledMb = 0;

function heapMb(): number {
  globalThis.gc?.();
  return (process.memoryUsage().heapUsed + process.memoryUsage().arrayBuffers) / 2 ** 20;
}

for (let us = STEP_US; us <= HOURS * 3600e6; us += STEP_US) {
  const fresh = car.advance(us);
  sent += fresh.length;
  for (const packet of fresh) packets.push(packet);
  driven.driveTo(us);
  driven.forget();
  driven.events.length = 0;
  if (us === SETTLED_US) settledMb = heapMb();
  if (us % 600e6 === 0) console.log(`${(us / 60e6).toFixed(0)} min: ${heapMb().toFixed(0)} MB in use`);
}
const endMb = heapMb();
driven.driveTo(HOURS * 3600e6 + 1e6);
const stored = driven.book.recordings().reduce((sum, recording) => sum + [...driven.book.packets(recording.id)].length, 0);
rmSync(folder, { recursive: true, force: true });
console.log(
  `${HOURS} h: ${sent} packets sent, ${stored} in the journal; ${settledMb.toFixed(0)} MB after ten minutes, ${endMb.toFixed(0)} MB at the end`,
);
if (stored !== sent || endMb > settledMb * MOST_GROWTH) process.exitCode = 1;
