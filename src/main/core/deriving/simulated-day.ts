/** The simulated car's set-up and its first day: twelve runs, so that a new user's first screens are not empty. Ends like any import. */
import { carSetUp, carSignalFile } from "../../../shared/simulation/car-files.ts";
import { defaultDayPlan } from "../../../shared/simulation/default-day.ts";
import { simulateDay } from "../../../shared/simulation/simulate-day.ts";
import { US_PER_S } from "../../../shared/kernel/units.ts";
import type { Packet } from "../../../shared/pipeline/packet.ts";
import type { Book } from "../../ports/book.ts";
import { type ReadySetUp, readSetUp } from "../basics/read-set-up.ts";
import { gatesOf } from "../judging/own-gates.ts";
import { type ImportSteps, importRecording, restOf } from "./import-recording.ts";
import type { Settled } from "./settle.ts";

/** One car and one receiver: the stored day's calibration is valid for the drive that follows. */
export const CAR_SEED = 7;
/** Length of the day with that seed. */
const DAY_LENGTH_S = 1262;
/** The simulated day begins this long ago; it takes about twenty minutes. */
const DAY_BEFORE_S = 1800;

/** The simulated car's own set-up, as a person would have written it. */
export function simulatedSetUp(): ReadySetUp {
  const text = JSON.stringify(carSetUp(defaultDayPlan(CAR_SEED).bus), null, 2);
  return readSetUp({ text, signalFiles: [{ name: "car.dbc", text: carSignalFile() }] }, "Set-up of the simulated car");
}

export interface FirstDay {
  readonly steps: ImportSteps<Settled & { readonly recording: number }>;
  /** How long the day is, s. */
  readonly lengthS: number;
}

function* dayPackets(packets: ReturnType<typeof simulateDay>["packets"]): Generator<Packet> {
  for (const { stream, arrivalUs, bytes } of packets) yield { stream, arrivalNs: arrivalUs * 1e3, bytes };
}

const DAY_UID = `simulated-day-${CAR_SEED}`;

/**
 * Twelve runs of the simulated car, so that a new user's first screens are not empty. They end before now, so later driving comes after
 * them. Null in a book with other contents, or where a person stopped the day. A day that was not finished because the process died
 * continues.
 */
export function firstDayOf(book: Book, ready: ReadySetUp, utcUs: number): FirstDay | null {
  const [known, ...others] = book.recordings();
  const isUnfinished =
    known?.uid === DAY_UID && known.state === "interrupted" && JSON.stringify(known.setUp) === JSON.stringify(ready.stored);
  if (others.length > 0 || (known !== undefined && !isUnfinished)) return null;
  const startUnixS = known === undefined ? Math.floor(utcUs / US_PER_S) - DAY_BEFORE_S : known.baseUtcUs / US_PER_S;
  const { packets } = simulateDay({ seed: CAR_SEED, plan: { ...defaultDayPlan(CAR_SEED), startUnixS } });
  const day = {
    book,
    ready,
    uid: DAY_UID,
    origin: "simulated",
    canFormat: "slcan",
    baseUtcUs: startUnixS * US_PER_S,
    label: "",
    gates: gatesOf(book),
  } as const;
  if (known === undefined) return { steps: importRecording({ ...day, packets: dayPackets(packets) }), lengthS: DAY_LENGTH_S };
  const rest = restOf(book, known, { ready, label: "", packets: dayPackets(packets) });
  return rest === null ? null : { steps: importRecording({ ...day, packets: rest, into: known.id }), lengthS: DAY_LENGTH_S };
}
