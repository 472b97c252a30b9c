/**
 * Every recording computed again from its journal. One whose calibration was fitted with a mistake that the set-up no longer has is left as it
 * was, and says so: its times would be known to be wrong. Each recording is stored whole or not at all.
 */
import type { Calibration, Figure } from "../../../shared/align/calibration.ts";
import { drain } from "../../../shared/kernel/drain.ts";
import type { LaunchTeam } from "../../../shared/pipeline/launch-team.ts";
import { type Book, BookError, type Recording, type StoredSetUp } from "../../ports/book.ts";
import { gatesOf } from "../judging/own-gates.ts";
import { addShift } from "../library/recorded-packets.ts";
import { fitSteps } from "./derive.ts";
import { type Settled, settleSteps } from "./settle.ts";

export interface RederiveRequest {
  /** A corrected set-up for all recordings; null keeps each one's own. */
  readonly setUp: StoredSetUp | null;
  readonly recalibrate: boolean;
  /** Moves logs whose speeds show a shift onto each other. */
  readonly align: boolean;
  readonly utcUs: number;
  /** Who times the launches; absent: this thread. */
  readonly team?: LaunchTeam;
}

export type Rederived = { readonly recording: number } & (Settled | { readonly notStored: string });

class StaleCalibration extends Error {}

/** False too where the stored one cannot be read: the given one is its remedy. */
function hasSetUp(recording: Recording, setUp: StoredSetUp): boolean {
  try {
    return JSON.stringify(recording.setUp) === JSON.stringify(setUp);
  } catch (error) {
    if (error instanceof BookError && error.code === "damaged") return false;
    throw error;
  }
}

export function rederiveOne(book: Book, recording: Recording, request: RederiveRequest, onShare: (share: number) => void): Rederived {
  const { id } = recording;
  const corrected = request.setUp !== null && !hasSetUp(recording, request.setUp);
  const kept = book.newestCalibration(id)?.calibration ?? null;
  const fitted = kept?.rollingRadiusM.from === "calibrated";
  try {
    const settled = book.transaction(() => {
      if (request.setUp !== null) book.replaceSetUp(id, request.setUp, request.utcUs);
      if (corrected && fitted && !request.recalibrate) refuseStale(kept, drain(fitSteps(book, book.recording(id))));
      // A calibration that was never fitted only repeats the earlier set-up's figures, so the corrected ones replace it.
      const recalibrate = request.recalibrate || (corrected && !fitted);
      const once = drain(settleSteps(book, id, { gates: gatesOf(book), recalibrate, team: request.team }), onShare);
      return request.align ? (alignLogs(book, id, once, request) ?? once) : once;
    });
    return { recording: id, ...settled };
  } catch (error) {
    if (error instanceof StaleCalibration) return { recording: id, notStored: error.message };
    throw error;
  }
}

/** Moves the logs onto each other where they showed a shift, and derives again; null where they showed none. */
export function alignLogs(
  book: Book,
  id: number,
  { wiring }: Settled,
  { utcUs, team }: Pick<RederiveRequest, "utcUs" | "team">,
): Settled | null {
  const lateByS = wiring.find(({ kind }) => kind === "shifted")?.lateByS;
  if (lateByS === undefined) return null;
  if (book.recording(id).origin !== "import")
    throw new RangeError(`Recording ${id} was made with one clock: its streams cannot be shifted; look at motor speed and tyre instead`);
  return book.transaction(() => {
    addShift(book, id, lateByS, utcUs);
    return drain(settleSteps(book, id, { gates: gatesOf(book), recalibrate: true, team }));
  });
}

const WORDS = {
  rollingRadiusM: (value: number) => `radius ${value.toFixed(4)} m`,
  gnssDelayS: (value: number) => `receiver delay ${(1000 * value).toFixed(0)} ms`,
  slipPerNm: (value: number) => `slip per Nm ${value.toExponential(2)}`,
} as const;

/** The same drive gives the same figures, unless what was corrected had reached them. */
function refuseStale(kept: Calibration, now: Calibration): void {
  const known = (figure: Figure) => figure.from === "calibrated";
  for (const name of ["rollingRadiusM", "gnssDelayS", "slipPerNm"] as const) {
    const [before, after] = [kept[name], now[name]];
    if (!known(before) || !known(after)) continue;
    if (Math.abs(before.value - after.value) > Math.max(before.plusMinus95, after.plusMinus95))
      throw new StaleCalibration(
        `its calibration was fitted with the mistake: ${WORDS[name](before.value)}, with the corrected set-up ${WORDS[name](after.value)}; it stays as it was until it is derived with --recalibrate`,
      );
  }
}
