/** The computer's clock is set, midnight comes, the computer sleeps: during a drive, on a clock that the test moves. */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { createRandom } from "../../src/shared/simulation/random.ts";
import { type DrivenCore, driveCore, shortDrive } from "../support/driven-core.ts";
import type { Fault, Tried } from "./fault.ts";

const { packets } = shortDrive([{ kind: "stand", seconds: 2 }, { kind: "launch" }, { kind: "stand", seconds: 4 }]);
const END_US = (packets.at(-1)?.arrivalUs ?? 0) + 100_000;
const BYTES = packets.reduce((sum, { bytes }) => sum + bytes.length, 0);
const DAY_S = 86_400;

/** What a drive leaves: its runs' times, and every byte. */
async function drive(
  file: string,
  disturb: (driven: DrivenCore) => void,
  atUs: number,
): Promise<{ times: string; bytes: number; told: string }> {
  const driven = driveCore({ file, packets: [...packets], alwaysArmed: true });
  driven.driveTo(atUs);
  disturb(driven);
  driven.driveTo(END_US);
  await driven.core.close();
  const times = JSON.stringify(driven.book.runs().map(({ figures }) => figures.gates.map(({ gate, seconds }) => [gate, seconds])));
  const bytes = driven.book
    .recordings()
    .reduce((sum, { id }) => sum + [...driven.book.packets(id)].reduce((all, packet) => all + packet.bytes.length, 0), 0);
  const told = driven.events.flatMap((event) => (event.event === "notice" && event.text !== null ? [event.text] : [])).at(-1) ?? "";
  driven.book.close();
  return { times, bytes, told };
}

async function disturbed(times: number, disturb: (driven: DrivenCore, i: number) => void, sameRuns: boolean): Promise<Tried> {
  const folder = mkdtempSync(join(tmpdir(), "gripbook-faults-"));
  const random = createRandom(24, "clocks");
  try {
    const asIs = await drive(join(folder, "as-is.gripbook"), () => undefined, END_US / 2);
    const wrong: string[] = [];
    let [lost, seen] = [0, ""];
    for (let i = 0; i < times; i += 1) {
      const was = await drive(join(folder, `${i}.gripbook`), (driven) => disturb(driven, i), random.between(0, END_US));
      lost = Math.max(lost, BYTES - was.bytes);
      seen = was.told || seen;
      if (was.bytes !== BYTES) wrong.push(`try ${i + 1}: ${BYTES - was.bytes} bytes lost`);
      if (sameRuns && was.times !== asIs.times) wrong.push(`try ${i + 1}: other times`);
    }
    return { times, lostBytes: lost, lostMs: Number.NaN, seen: seen || "nothing: no result rests on the wall clock", wrong };
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

const STEPS_S = [-3600, 3600, -DAY_S, DAY_S, 1, -1, 7 * DAY_S, 365 * DAY_S];

export const clocks: readonly Fault[] = [
  {
    name: "the wall clock set: by a second, an hour, a day, a week, a year",
    promise: "the same times to the byte, nothing lost",
    whole: 40,
    short: 4,
    alone: false,
    whyNot: null,
    run: (times) =>
      disturbed(
        times,
        ({ clock }, i) => {
          const before = clock.utcUs.bind(clock);
          clock.utcUs = () => before() + (STEPS_S[i % STEPS_S.length] ?? 0) * 1e6;
        },
        true,
      ),
  },
  {
    name: "the computer sleeps and wakes",
    promise: "the recording closed there and told, nothing lost of what was heard",
    whole: 20,
    short: 2,
    alone: false,
    whyNot: null,
    run: (times) =>
      disturbed(
        times,
        ({ clock }) => {
          clock.sleptS += 60;
        },
        false,
      ),
  },
];
