/** `gates`: the gates a book times, and gates of one's own. What cannot be a gate is refused with what would be. */
import type { Command } from "commander";
import { hostClock } from "../compose.ts";
import { drain } from "../../shared/kernel/drain.ts";
import { gatesOf, keepGate } from "../core/own-gates.ts";
import { settleSteps } from "../core/settle.ts";
import type { Book } from "../ports/book.ts";
import { M_PER_FOOT, M_PER_MILE, MPS_PER_KMH, MPS_PER_MPH } from "../../shared/kernel/units.ts";
import type { Gate } from "../../shared/run/gate.ts";
import { createProgress } from "./progress.ts";
import { say, sayJson, warn } from "./say.ts";
import { withBook } from "./with-book.ts";

const SPEEDS: Readonly<Record<string, number>> = { "km/h": MPS_PER_KMH, mph: MPS_PER_MPH, "m/s": 1 };
const LENGTHS: Readonly<Record<string, number>> = { m: 1, ft: M_PER_FOOT, mile: M_PER_MILE };
const FASTEST_MPS = 150;
const LONGEST_M = 5000;

interface Quantity {
  readonly kind: "speed" | "length";
  readonly value: number;
}

function readQuantity(text: string, option: string): Quantity {
  const match = /^(\d+(?:\.\d+)?)\s*(\S+)$/.exec(text.trim());
  const [value, unit] = [Number(match?.[1]), match?.[2] ?? ""];
  const speed = SPEEDS[unit];
  const length = LENGTHS[unit];
  if (match !== null && speed !== undefined && value * speed <= FASTEST_MPS) return { kind: "speed", value: value * speed };
  if (match !== null && length !== undefined && value * length <= LONGEST_M) return { kind: "length", value: value * length };
  throw new RangeError(
    `Expected ${option} like "20 km/h", "60 mph" or "100 m" (${[...Object.keys(SPEEDS), ...Object.keys(LENGTHS)].join(", ")}), got ${JSON.stringify(text)}`,
  );
}

function gateOf(name: string, fromText: string, toText: string): Gate {
  const from = readQuantity(fromText, "--from");
  const to = readQuantity(toText, "--to");
  if (from.kind !== "speed") throw new RangeError(`Expected --from with a speed, got ${JSON.stringify(fromText)}`);
  if (to.kind === "length") {
    if (from.value !== 0 || to.value === 0)
      throw new RangeError('A distance is timed from standing: expected --from "0 km/h" and --to with a length over 0');
    return { kind: "distance", name, distanceM: to.value };
  }
  if (to.value > from.value)
    return from.value === 0 ? { kind: "standing", name, toMps: to.value } : { kind: "rolling", name, fromMps: from.value, toMps: to.value };
  if (to.value === 0 && from.value > 0) return { kind: "stop", name, fromMps: from.value };
  throw new RangeError(`Expected --to above --from, or "0 km/h" for a stop, got ${fromText} to ${toText}`);
}

/** Stored runs get the new gate at once, so that they stay what their journal gives; not while another Gripbook records. */
function timeStoredRuns(book: Book): void {
  if (!book.own()) {
    warn(`Book ${book.file}: another Gripbook records into it; run rederive afterwards to time its runs by this gate`);
    return;
  }
  const progress = createProgress();
  const recordings = book.recordings();
  for (const [i, { id }] of recordings.entries()) {
    const steps = settleSteps(book, id, { gates: gatesOf(book), recalibrate: false });
    drain(steps, (share) => progress.at((i + share) / recordings.length, "Timing the stored runs"));
  }
  progress.end();
}

export function addGatesCommand(program: Command): void {
  program
    .command("gates")
    .description("the gates a book times; --add puts in one of your own and times the stored runs by it")
    .requiredOption("--book <file>", "the book")
    .option("--add <name>", "its name")
    .option("--from <speed>", "where it begins, e.g. '20 km/h'; '0 km/h' for a standing start")
    .option("--to <speed or length>", "where it ends, e.g. '80 km/h' or '100 m'")
    .action((options: { book: string; add?: string; from?: string; to?: string }, command: Command) =>
      withBook({ file: options.book }, (book) => {
        if (options.add !== undefined) {
          const name = options.add.trim();
          if (name === "" || options.from === undefined || options.to === undefined)
            throw new RangeError("Expected --add NAME with --from and --to");
          keepGate(book, gateOf(name, options.from, options.to), hostClock().utcUs());
          timeStoredRuns(book);
        }
        const gates = gatesOf(book);
        return command.optsWithGlobals().json === true ? sayJson(gates) : say(gates.map((gate) => gate.name).join("\n"));
      }),
    );
}
