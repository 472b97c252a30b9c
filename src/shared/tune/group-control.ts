/**
 * What the control of a group of runs does: each intervention of each run, and the medians over the runs. What was not seen is null, and
 * `why` says what is missing; a group whose torque was never held back has no interventions.
 */
import { median } from "../kernel/statistics.ts";
import type { Aim } from "./control-model.ts";
import type { Figure } from "./figure.ts";
import { type ControlFit, fitControl } from "./fit-control.ts";
import type { FittedCar } from "./fitted-car.ts";
import { type Intervention, interventionOf, trueOnset } from "./interventions.ts";
import { medianOver } from "./median-over.ts";
import type { Quickest } from "./quickest.ts";
import { type HeldSpan, heldSpans, type TorquePath, torquePathOf } from "./torque-path.ts";
import { seenEvery } from "./torque-steps.ts";
import type { TuneRun } from "./tune-run.ts";
import { ROW_S } from "./tune-samples.ts";

interface RunInterventions {
  readonly run: number;
  /** Where its time is 0, on the base of the interventions. */
  readonly movementS: number;
  readonly interventions: readonly Intervention[];
}

/** Medians over the runs, each with the half width of its 95 % interval. */
export interface GroupControl {
  /** Slip ratio that it settles at, above 10 km/h. */
  readonly holdsSlipAt: Figure | null;
  /** From slip passing the allowed level to torque falling, s. */
  readonly answersAfterS: Figure | null;
  /** Highest slip over the allowed slip, minus one. */
  readonly overshoot: Figure | null;
  readonly settlesAfterS: Figure | null;
  readonly oscillationHz: Figure | null;
  /** Share of critical damping, where it oscillates. */
  readonly damping: Figure | null;
  /** Time between looks, s. `atBus`: torque changed with every frame, so the control may look more often than the bus shows. */
  readonly seenEveryS: (Figure & { readonly atBus: boolean }) | null;
  /** Seconds that the interventions of one run cost in total. */
  readonly costS: Figure | null;
  readonly each: readonly RunInterventions[];
  /** The control as a model that can be simulated; null where its torque does not follow from slip. */
  readonly fit: ControlFit | null;
  /** Which torque was compared with the torque asked for. */
  readonly from: "command" | "delivered" | null;
  /** Sentences: what is unknown, and why. */
  readonly why: readonly string[];
}

interface Held {
  readonly run: TuneRun;
  readonly path: TorquePath;
  readonly spans: readonly HeldSpan[];
}

/** Frame times and ages: the time of a torque change is known to one frame. */
const OPEN_TIME_S = ROW_S;
const TEN_KMH_MPS = 10 / 3.6;
/** A model that explains less than this does not describe the control. */
const LEAST_EXPLAINED = 0.2;
const LEAST_HELD_ROWS = 20;

/** Median slip ratio of a run while torque is held back and slip has settled. */
function heldRatio({ run, path }: Held, interventions: readonly Intervention[]): number | null {
  const { slipSpeedMps, groundSpeedMps } = run.samples;
  const ratios: number[] = [];
  for (const { fromRow, toRow, settlesAfterS } of interventions) {
    const from = fromRow + Math.round((settlesAfterS ?? 0) / ROW_S);
    for (let i = from; i < toRow; i += 1) {
      const ratio = slipSpeedMps[i] / groundSpeedMps[i];
      if (path.heldNm[i] > 0 && groundSpeedMps[i] >= TEN_KMH_MPS && Number.isFinite(ratio)) ratios.push(ratio);
    }
  }
  return ratios.length < LEAST_HELD_ROWS ? null : median(ratios);
}

function slipOpen(runs: readonly TuneRun[]): number {
  const sigmas = runs.flatMap(({ samples, startIndex, endIndex }) =>
    Array.from(samples.slipSigma.slice(startIndex, endIndex)).filter(Number.isFinite),
  );
  return sigmas.length === 0 ? 0 : 2 * median(sigmas);
}

/** A control of which nothing was seen, with the reasons. */
export const unseenControl = (...why: readonly string[]): GroupControl => ({
  holdsSlipAt: null,
  answersAfterS: null,
  overshoot: null,
  settlesAfterS: null,
  oscillationHz: null,
  damping: null,
  seenEveryS: null,
  costS: null,
  each: [],
  fit: null,
  from: null,
  why,
});

function whyOf(control: { fit: ControlFit | null; from: "command" | "delivered"; seen: ReturnType<typeof seenEvery> }): string[] {
  const { fit, from, seen } = control;
  const why: string[] = [];
  if (from === "delivered")
    why.push("No commanded torque is mapped: answers are timed by delivered torque, which comes a few hundredths of a second later.");
  if (fit === null)
    why.push("Torque was held back, but not as slip would have it: the level it answers to, and its lateness, are unknown.");
  if (seen === null) why.push("How often the control looks does not show: too few steps of torque while it held some back.");
  else if (seen.atBus)
    why.push("Torque changes with every frame of the bus: the control looks at least that often, and the bus does not tell more.");
  return why;
}

/** The control of the runs of one group; `quickest` where the costs are wanted. */
export function groupControl(
  runs: readonly TuneRun[],
  car: Pick<FittedCar, "fullTorqueNm" | "fullPowerW">,
  quickest: Quickest | null,
): GroupControl {
  const held = runs.flatMap((run): Held[] => {
    const path = torquePathOf(run, car);
    return path === null ? [] : [{ run, path, spans: heldSpans(path) }];
  });
  const first = held[0];
  if (first === undefined)
    return unseenControl("Torque asked for and torque let through are not both mapped: what the control did is unknown.");
  const working = held.filter(({ spans }) => spans.length > 0);
  if (working.length === 0) return { ...unseenControl("No torque was held back in these runs."), from: first.path.from };
  const seen = seenEvery(working.map(({ run, path, spans }) => ({ path, spans, motorRadps: run.samples.motorRadps })));
  const found = fitControl(
    working.map(({ run, path, spans }) => ({
      slipMps: run.samples.slipSpeedMps,
      speedMps: run.samples.groundSpeedMps,
      commandNm: path.throughNm,
      heldNm: path.heldNm,
      spans,
      onsets: spans.map((span) => trueOnset(path, span)),
    })),
    seen === null || seen.atBus ? 0 : seen.seconds,
  );
  const fit = found !== null && found.explained >= LEAST_EXPLAINED ? found : null;
  const aim: Aim | null = fit?.model.aim ?? null;
  const told = working.map((one) => {
    const interventions = one.spans.map((span) => interventionOf(one.run, one.path, span, { aim, quickest }));
    return { ...one, interventions };
  });
  /** One value for each run: the median over its interventions. */
  const over = (pick: (one: Intervention) => number | null, open: number) =>
    medianOver(
      told.flatMap(({ interventions }) => {
        const values = interventions.flatMap((one) => pick(one) ?? []);
        return values.length === 0 ? [] : [median(values)];
      }),
      open,
    );
  const costs = told.flatMap(({ interventions }) => {
    const values = interventions.flatMap(({ costS }) => costS ?? []);
    return values.length === 0 ? [] : [values.reduce((sum, s) => sum + s, 0)];
  });
  return {
    holdsSlipAt: medianOver(
      told.flatMap((one) => heldRatio(one, one.interventions) ?? []),
      slipOpen(runs),
    ),
    answersAfterS: over((one) => one.answersAfterS, OPEN_TIME_S),
    overshoot: over((one) => one.overshoot, 0.05),
    settlesAfterS: over((one) => one.settlesAfterS, OPEN_TIME_S),
    oscillationHz: over((one) => one.oscillationHz, 0),
    damping: over((one) => one.damping, 0),
    seenEveryS: seen === null ? null : { value: seen.seconds, plusMinus95: ROW_S / 2, atBus: seen.atBus },
    costS: medianOver(costs, 0),
    each: held.map(({ run }) => ({
      run: run.id,
      movementS: run.movementS,
      interventions: told.find((one) => one.run === run)?.interventions ?? [],
    })),
    fit,
    from: first.path.from,
    why: whyOf({ fit, from: first.path.from, seen }),
  };
}
