/** What is changed for a simulated launch. A launch without a control can be given one of usual strength; nothing else is assumed. */
import type { ControlModel } from "./control-model.ts";

export interface Trial {
  /** Slip ratio to be held. */
  readonly slip?: number;
  /** From slip passing the allowed level to torque falling, s. */
  readonly lateS?: number;
  /** Time between looks, s. */
  readonly everyS?: number;
  /** Factor on how hard it takes torque away and gives it back. */
  readonly strength?: number;
  /** Seconds from movement until full torque is asked for. */
  readonly asksAllAfterS?: number;
  /** Another road, as noted with runs of the book. */
  readonly surface?: string;
}

/** A control of usual strength for a car without one (common practice, no source): looks a hundred times a second, answers in 20 ms. */
export const USUAL_CONTROL: ControlModel = {
  aim: { standingMps: 0.3, share: 0.1, added: false },
  nmPerMps: 60,
  nmPerM: 800,
  awayNmPerS: 5000,
  backNmPerS: 5000,
  floorNm: 0,
  lateS: 0.015,
  everyS: 0.01,
};
const LEAST_SHARE = 0.002;

/** What the control was seen to do; a change is the difference from this. */
interface Seen {
  readonly holdsSlipAt: { readonly value: number } | null;
  readonly answersAfterS: { readonly value: number } | null;
}

/** The model with the change. */
export function tried(
  model: ControlModel,
  { holdsSlipAt, answersAfterS }: Seen,
  { slip, lateS, everyS, strength = 1 }: Trial,
): ControlModel {
  // On average, slip passes the allowed level half a look before it is seen.
  const answers = answersAfterS?.value ?? model.lateS + model.everyS / 2;
  const share =
    slip === undefined ? model.aim.share : Math.max(LEAST_SHARE, model.aim.share + slip - (holdsSlipAt?.value ?? model.aim.share));
  return {
    ...model,
    aim: { ...model.aim, share },
    nmPerMps: model.nmPerMps * strength,
    nmPerM: model.nmPerM * strength,
    everyS: everyS ?? model.everyS,
    lateS: lateS === undefined ? model.lateS : Math.max(0, model.lateS + lateS - answers),
  };
}

/** The request, stretched or shortened in time from the pedal's first movement. Rows are `rowS` apart, the start is row `movementRow`. */
export function askedOtherwise(share: Float64Array, movementRow: number, rowS: number, asksAllAfterS: number | undefined): Float64Array {
  if (asksAllAfterS === undefined) return share;
  const first = Math.max(
    0,
    share.findIndex((s) => s > 0.01),
  );
  const all = share.findIndex((s) => s >= 0.97);
  const wanted = movementRow + asksAllAfterS / rowS;
  if (all < 0 || all <= first || wanted <= first) return share;
  const stretch = (wanted - first) / (all - first);
  return Float64Array.from({ length: Math.max(share.length, Math.ceil(first + share.length * stretch)) }, (_, i) => {
    const from = i <= first ? i : first + (i - first) / stretch;
    return share[Math.min(share.length - 1, Math.round(from))];
  });
}
