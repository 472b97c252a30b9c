/**
 * Eight hours of a saturated bus and a 25 Hz receiver in simulated time (`npm run faults:load`; GRIPBOOK_HOURS sets another number) through the core and a
 * real book: every packet in the journal, and memory flat after the first ten minutes. Exits 1 where a packet is missing or the heap grew by a quarter.
 */
import { mkdtempSync, rmSync, statSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { SimulatedPacket } from "../../src/shared/simulation/packets.ts";
import { driveCore } from "../support/driven-core.ts";
import { createLongBus } from "./long-bus.ts";

const HOURS = Number(process.env.GRIPBOOK_HOURS ?? 8);
const STEP_US = 10e6;
/** The live session keeps four minutes; from ten on it is as full as it gets. */
const SETTLED_US = 600e6;
const MOST_GROWTH = 1.25;
const TELL_US = 1800e6;

const folder = mkdtempSync(join(tmpdir(), "gripbook-load-"));
const file = join(folder, "long.gripbook");
const bus = createLongBus();
const packets: SimulatedPacket[] = [];
const driven = driveCore({ file, packets, alwaysArmed: true });
let [sentPackets, sentBytes, settledMb] = [0, 0, 0];

function heapMb(): number {
  globalThis.gc?.();
  return (process.memoryUsage().heapUsed + process.memoryUsage().arrayBuffers) / 2 ** 20;
}

const startMs = performance.now();
for (let us = STEP_US; us <= HOURS * 3600e6; us += STEP_US) {
  for (const packet of bus.advance(us)) {
    packets.push(packet);
    sentPackets += 1;
    sentBytes += packet.bytes.length;
  }
  driven.driveTo(us);
  driven.forget();
  driven.events.length = 0;
  if (us === SETTLED_US) settledMb = heapMb();
  if (us % TELL_US === 0) {
    const pace = us / 1e3 / (performance.now() - startMs);
    console.log(
      `${(us / 3600e6).toFixed(1)} h: ${heapMb().toFixed(0)} MB in use, ${bus.frames} frames, ${pace.toFixed(0)} times real time`,
    );
  }
}
const endMb = heapMb();
driven.driveTo(HOURS * 3600e6 + 1e6);
let [stored, storedBytes] = [0, 0];
for (const { id } of driven.book.recordings())
  for (const { bytes } of driven.book.packets(id)) {
    stored += 1;
    storedBytes += bytes.length;
  }
const runs = driven.book.runs().length;
console.log(
  `${HOURS} h: ${sentPackets} packets, ${sentBytes} bytes, ${bus.frames} frames sent; ${stored} packets, ${storedBytes} bytes in the journal; ${runs} runs; ${settledMb.toFixed(0)} MB after ten minutes, ${endMb.toFixed(0)} MB at the end; book ${(statSync(file).size / 2 ** 30).toFixed(2)} GiB`,
);
driven.book.close();
rmSync(folder, { recursive: true, force: true });
process.exit(stored === sentPackets && storedBytes === sentBytes && endMb <= settledMb * MOST_GROWTH ? 0 : 1);
