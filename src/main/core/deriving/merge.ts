/**
 * Copies another book's recordings, with their runs, notes and calibrations, into this one. What is already here, by uid, stays as it is.
 * Each recording is copied whole or not at all.
 */
import type { Packet } from "../../../shared/pipeline/packet.ts";
import type { Book, Recording, StoredRun } from "../../ports/book.ts";
import { hashIn } from "../library/kept-files.ts";
import { addShift, shiftOf } from "../library/recorded-packets.ts";
import { setWiring, wiringOf } from "../library/wiring-state.ts";
import { currentPlan, fillPlan, mergePlan } from "../judging/test-plan.ts";
import { isGivenName, NAME_REMEDY } from "../../../shared/kernel/file-name.ts";

const BLOCK_NS = 150e6;

export interface Merged {
  readonly recordings: number;
  readonly runs: number;
  /** Runs of the other book that this one already has. */
  readonly alreadyHere: number;
}

function appendPackets(book: Book, id: number, packets: Iterable<Packet>): void {
  let block: Packet[] = [];
  const flush = () => {
    if (block.length > 0) book.append(id, { packets: block, marks: [], gaps: [], clock: [] });
    block = [];
  };
  for (const packet of packets) {
    const first = block[0];
    if (first !== undefined && packet.arrivalNs - first.arrivalNs > BLOCK_NS) flush();
    block.push(packet);
  }
  flush();
}

/** Returns the new id of every calibration of the recording. */
function copyRecording(from: Book, to: Book, recording: Recording, runs: readonly StoredRun[], utcUs: number): void {
  const { id } = to.startRecording(recording);
  appendPackets(to, id, from.packets(recording.id));
  to.append(id, { packets: [], marks: from.marks(recording.id), gaps: from.gaps(recording.id), clock: from.clockSamples(recording.id) });
  to.closeRecording(id, recording.state === "interrupted" ? "interrupted" : "closed");
  const calibrations = new Map<number, number>();
  for (const old of from.calibrations(recording.id)) calibrations.set(old.id, to.addCalibration(id, old.calibration).id);
  for (const run of runs) {
    const calibration = run.calibration === null ? null : (calibrations.get(run.calibration) ?? null);
    const copy = to.addRun({ ...run, conditions: {}, recording: id, calibration, samples: from.samples(run.id).samples });
    const lost = run.found ? undefined : run.figures.flags.at(-1);
    if (lost !== undefined) to.markLost(copy, lost);
    if (!run.use || run.note !== "") to.setReview(copy, { use: run.use, note: run.note }, utcUs);
    if (Object.keys(run.conditions).length > 0) to.setConditions(copy, run.conditions, utcUs);
    for (const [flag, note] of Object.entries(run.overruled)) to.setOverruled(copy, flag, note, utcUs);
    for (const value of Object.values(run.conditions)) {
      const file = from.keptFile(hashIn(value) ?? "");
      if (file !== null) to.keepFile(file);
    }
  }
  const faults = wiringOf(from).find((one) => one.recording === recording.id)?.faults ?? [];
  setWiring(to, id, faults, utcUs);
  const lateByS = shiftOf(from, recording.id);
  if (lateByS !== 0) addShift(to, id, lateByS, utcUs);
  if (recording.derived) to.markDerived(id);
}

export function merge(from: Book, to: Book, utcUs: number): Merged {
  const here = to.names();
  const recordingsHere = new Set(to.recordings().map((recording) => recording.uid));
  let [recordings, runs, alreadyHere] = [0, 0, 0];
  // The slots that each plan's own runs fill are settled before other runs come in.
  for (const book of [from, to]) {
    const plan = currentPlan(book);
    if (plan !== null) fillPlan(book, plan);
  }
  for (const recording of from.recordings()) {
    const all = from.runsOf(recording.id);
    // A run's name becomes a file's name when the run is exported.
    const odd = all.find((run) => !isGivenName(run.uid));
    if (odd !== undefined) throw new RangeError(`Book ${from.file}: the name of run ${odd.id} is none of Gripbook's: ${NAME_REMEDY}`);
    const fresh = all.filter((run) => !here.has(run.uid));
    alreadyHere += all.length - fresh.length;
    const nothingNew = recordingsHere.has(recording.uid) || (all.length > 0 && fresh.length === 0);
    if (nothingNew || recording.state === "open") continue;
    to.transaction(() => copyRecording(from, to, recording, fresh, utcUs));
    recordings += 1;
    runs += fresh.length;
  }
  if (recordings > 0) to.transaction(() => mergePlan(from, to, utcUs));
  return { recordings, runs, alreadyHere };
}
