/** The simulated day in a book with two gates of long names, and labels of 200 letters for it. */
import { createHash } from "node:crypto";
import { copyFileSync, existsSync, globSync, mkdirSync, readFileSync, renameSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { openSqliteBook } from "../../src/main/adapters/sqlite/sqlite-book.ts";
import { setOwnGates } from "../../src/main/core/judging/own-gates.ts";
import { firstDayOf, simulatedSetUp } from "../../src/main/core/deriving/simulated-day.ts";
import type { Gate } from "../../src/shared/launch/gate.ts";
import { drain } from "../../src/shared/kernel/drain.ts";

/** A day in 2031, so that the same book comes out each time, us since 1970. */
const UTC_US = Date.UTC(2031, 4, 4, 12) * 1000;

/** Sixty letters, the most that a gate's name may have. */
const GATES = [
  { kind: "rolling", name: "from 20 to 80 km/h, past the second marker board on the left", fromMps: 20 / 3.6, toMps: 80 / 3.6 },
  { kind: "distance", name: "standing start to the white line at the end of the apron, 9", distanceM: 80 },
] as const;

/** 200 letters each, less a space at the end: the most that a label may have; in the second one word is longer than any line. */
const cut = (label: string) => label.slice(0, 200).trim();
export const LONG_LABELS = [
  cut(
    "traction control on, slip target 8 % instead of 12 %, rear tyres at 1.9 bar after the third heat cycle, damper two clicks softer, wind from the left, battery over 70 %, driver without the passenger's seat",
  ),
  cut(
    `traction control map ${"softer".repeat(12)}, rear tyres changed after run 6 for the other set of the same compound, pressures as before, otherwise as the group before it and nothing else was touched now`,
  ),
] as const;

function make(file: string, utcUs: number, gates: readonly Gate[]): void {
  const book = openSqliteBook({ file, create: true });
  if (gates.length > 0) setOwnGates(book, gates, utcUs);
  const day = firstDayOf(book, simulatedSetUp(), utcUs);
  if (day !== null) drain(day.steps);
  book.close();
}

/** Any change of the source is another day. */
function sourceHash(): string {
  const hash = createHash("sha256");
  const root = fileURLToPath(new URL("../..", import.meta.url));
  for (const name of ["src/shared/**/*.ts", "src/main/**/*.ts", "test/support/crowded-day.ts"]
    .flatMap((glob) => globSync(glob, { cwd: root }))
    .sort())
    hash.update(name).update(readFileSync(`${root}/${name}`));
  return hash.digest("hex").slice(0, 16);
}

/** Making a day takes a quarter of a minute, so that it is made once for a source, and copied. May be deleted at any time. */
function copyKept(name: string, file: string, makeIt: (file: string) => void): void {
  const folder = fileURLToPath(new URL("../../out/test-days", import.meta.url));
  const kept = `${folder}/${name}-${sourceHash()}.gripbook`;
  if (!existsSync(kept)) {
    mkdirSync(folder, { recursive: true });
    const fresh = `${kept}.${process.pid}`;
    makeIt(fresh);
    // Two files may make it at once: the same day.
    renameSync(fresh, kept);
  }
  copyFileSync(kept, file);
}

export const makeCrowdedDay = (file: string) => copyKept("crowded", file, (fresh) => make(fresh, UTC_US, GATES));

/** The first day of the built-in car as its first start fills the book, on the look's invented day. */
export const makeHandbookDay = (file: string) => copyKept("handbook", file, (fresh) => make(fresh, UTC_US, []));

/** The same on this day. */
export function makeFirstDay(file: string): void {
  const day = new Date();
  copyKept(`first-${day.toISOString().slice(0, 10)}`, file, (fresh) => make(fresh, day.getTime() * 1000, []));
}
