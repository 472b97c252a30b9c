/** Kills a recording process 200 times at random moments (GRIPBOOK_KILLS sets another number). Exits 1 where a book is not sound or more than 250 ms are lost (docs/design.md, figures to reach). */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { createRandom } from "../../src/shared/simulation/random.ts";
import { killRecorder } from "../support/kill-recorder.ts";

const KILLS = Number(process.env.GRIPBOOK_KILLS ?? 200);
const MOST_LOST_MS = 250;
const random = createRandom(20310504, "kills");
const folder = mkdtempSync(join(tmpdir(), "gripbook-"));
const losses: number[] = [];
const faults: string[] = [];
for (let i = 0; i < KILLS; i += 1) {
  // One book for all: it must also survive being opened after a crash again and again.
  const killed = await killRecorder(join(folder, "killed.gripbook"), random.between(0, 400));
  losses.push(killed.lostMs);
  faults.push(...killed.faults);
}
rmSync(folder, { recursive: true, force: true });
losses.sort((a, b) => a - b);
const worstMs = losses.at(-1) ?? Number.NaN;
console.log(`${KILLS} kills: lost ${losses[KILLS >> 1]} ms at the median, ${worstMs} ms at worst; ${faults.length} faults`);
for (const fault of faults) console.log(fault);
process.exitCode = faults.length === 0 && worstMs <= MOST_LOST_MS ? 0 : 1;
