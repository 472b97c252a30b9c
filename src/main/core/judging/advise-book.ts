/**
 * What to change next, from a book: car, grip, where each group's time went, advice. An unknown gate throws RangeError; what is unknown
 * says why.
 */
import { USUAL_GATE } from "./compare-book.ts";
import type { RunTuneView, TuneView } from "../../../shared/contract/tune-views.ts";
import type { StartName } from "../../../shared/launch/gate-result.ts";
import type { Gate } from "../../../shared/launch/gate.ts";
import { advise } from "../../../shared/tune/advise.ts";
import type { AdvisedGroup } from "../../../shared/tune/advised-group.ts";
import { fitCar } from "../../../shared/tune/fit-car.ts";
import type { FittedCar } from "../../../shared/tune/fitted-car.ts";
import type { GripCurve } from "../../../shared/tune/grip-curve.ts";
import { gripCurve, surfacesOf } from "../../../shared/tune/grip-curves.ts";
import { curveFor, groupLosses } from "../../../shared/tune/group-losses.ts";
import { groupControl } from "../../../shared/tune/group-control.ts";
import { knownTyre } from "../../../shared/tune/known-tyre.ts";
import { leftOutWords } from "../../../shared/tune/left-out.ts";
import { expectedGain } from "../../../shared/tune/predict.ts";
import { type Quickest, quickestOf } from "../../../shared/tune/quickest.ts";
import type { TuneAnswer } from "../../../shared/tune/tune-answer.ts";
import type { Book } from "../../ports/book.ts";
import type { RunTuneAsked, TuneAsked } from "../../ports/tuning.ts";
import type { Listening } from "../../ports/set-up-desk.ts";
import { quietly, type Step, stepsFor } from "../basics/steps.ts";
import { onlyRuns } from "../library/chosen-runs.ts";
import { gentleDriving } from "./gentle-driving.ts";
import { startFor, timedGates } from "./judged-runs.ts";
import { gatesOf } from "./own-gates.ts";
import { currentPlan } from "./test-plan.ts";
import { type TuneRuns, tuneRuns } from "./tune-runs.ts";

/** Prepared up to this speed; extended when needed. */
const TOP_MPS = 30;

export function askedOf(book: Book, wanted: string | undefined): { readonly gate: Gate; readonly start: StartName } {
  const name = wanted ?? currentPlan(book)?.plan.request.gates[0] ?? USUAL_GATE;
  const start = startFor(book, name, undefined);
  return { start, gate: gatesOf(book).find((known) => known.name === name) as Gate };
}

/** The car and its tyres, fitted to every run that can be used for them. */
interface Fitted {
  readonly found: TuneRuns;
  readonly car: FittedCar | null;
  readonly grip: readonly GripCurve[];
}

async function fitBook(book: Book, step: Step): Promise<Fitted> {
  const found = await tuneRuns(book, (share) => step("Reading the runs", 0.4 * share));
  if (found.runs.length === 0) return { found, car: null, grip: [] };
  await step("Fitting the car", 0.4);
  const used = new Set(found.runs.map((run) => run.id));
  const recordings = book.runs().flatMap((run) => (used.has(run.id) ? [run.recording] : []));
  const car = fitCar(found.runs, { gentle: await gentleDriving(book, recordings) });
  const grip: GripCurve[] = [];
  const surfaces = surfacesOf(found.runs);
  for (const [i, surface] of surfaces.entries()) {
    await step("Fitting the tyres", 0.5 + (0.4 * i) / surfaces.length);
    grip.push(gripCurve(surface, found.runs, car));
  }
  return { found, car, grip };
}

/** The quickest launch that the group's surface allows; null where that is unknown. */
function quickestFor(runs: TuneRuns["runs"], car: FittedCar, grip: readonly GripCurve[]): Quickest | null {
  const curve = runs[0] === undefined ? undefined : curveFor(grip, runs[0]);
  const tyre = curve === undefined ? null : knownTyre(curve);
  return tyre === null || !tyre.reached || car.fullTorqueNm.value === null ? null : quickestOf(car, tyre, TOP_MPS);
}

/** A book's fit is valid until a run is added or something is noted with a run. */
const fits = new WeakMap<Book, { readonly of: string; readonly fitted: Promise<Fitted> }>();

/** What a fit rests on. */
const fittedTo = (book: Book): string =>
  JSON.stringify(
    book
      .runs()
      .map(({ uid, use, found, conditions, overruled, calibration, final }) => [
        uid,
        use,
        found,
        conditions,
        overruled,
        calibration,
        final,
      ]),
  );

/** All that an answer without a gate or a group of its own rests on, as a text: another one after every change of it. */
export const tunedOf = (book: Book): string =>
  JSON.stringify([fittedTo(book), book.runs().map(({ label }) => label), gatesOf(book), currentPlan(book)?.plan.request.gates]);

export function fittedOf(book: Book, step: Step = quietly): Promise<Fitted> {
  const of = fittedTo(book);
  const known = fits.get(book);
  if (known?.of === of) return known.fitted;
  const fitted = fitBook(book, step);
  fits.set(book, { of, fitted });
  // After a failure the next request tries again.
  fitted.catch(() => fits.delete(book));
  return fitted;
}

/** Labels of the groups asked for, otherwise of every labelled run, in driving order. */
export function labelsOf(labels: readonly string[], wanted: readonly string[] | undefined): readonly string[] {
  const known = [...new Set(labels.filter((label) => label !== ""))];
  const unknown = wanted?.find((label) => !known.includes(label));
  if (unknown !== undefined)
    throw new RangeError(
      `No run is labelled ${JSON.stringify(unknown)}; there are ${known.length === 0 ? "no labels yet" : known.map((label) => JSON.stringify(label)).join(", ")}`,
    );
  return wanted ?? known;
}

const NO_RUN = "There is no run in use yet: drive two or more of one setting, better six.";

/** The JSON of `advise`. */
export async function adviseBook(whole: Book, request: TuneAsked, listening?: Listening): Promise<TuneAnswer> {
  const step = listening === undefined ? quietly : stepsFor(listening);
  const book = onlyRuns(whole, request.where);
  const { gate, start } = askedOf(book, request.gate);
  const all = book.runs();
  const labels = labelsOf(
    all.map((run) => run.label),
    request.groups,
  );
  const { found, car, grip } = await fittedOf(book, step);
  const nothing = { gate: gate.name, start, car, grip, groups: [], advice: [] };
  if (car === null) return { ...nothing, silent: [NO_RUN, ...leftOutWords(found.leftOut)] };
  const label = new Map(all.map((run) => [run.id, run.label]));
  const groups: { found: AdvisedGroup; runs: TuneRuns["runs"] }[] = [];
  for (const [i, name] of labels.entries()) {
    await step("Counting the lost time", 0.9 + (0.1 * i) / labels.length);
    // The fit stays valid when a label changes.
    const runs = found.runs.filter((run) => label.get(run.id) === name && found.counts(run.id));
    const losses = groupLosses({ label: name, runs, gate, start, car, curves: grip });
    groups.push({ found: { ...losses, control: groupControl(runs, car, quickestFor(runs, car, grip)) }, runs });
  }
  const { advice, silent } = advise({
    car,
    grip,
    groups,
    gate: gate.name,
    start,
    predict: (group, { trial }) => {
      const of = groups.find((one) => one.found.label === group);
      return of === undefined ? null : expectedGain({ runs: of.runs, gate, start, car, curves: grip, control: of.found.control, trial });
    },
    leftOut: found.leftOut,
  });
  const unlabelled = labels.length === 0 ? ["No run has a label yet: label the runs of one setting alike."] : [];
  return { ...nothing, groups: groups.map((group) => group.found), advice, silent: [...unlabelled, ...silent] };
}

/** The same, with the choices that a screen offers. */
export async function tuneView(whole: Book, { where, ...request }: TuneAsked, listening?: Listening): Promise<TuneView> {
  const book = onlyRuns(whole, where);
  const answer = await adviseBook(book, request, listening);
  const labels = [
    ...new Set(
      book
        .runs()
        .map((run) => run.label)
        .filter((label) => label !== ""),
    ),
  ];
  const countable = new Set(gatesOf(book).flatMap(({ name, kind }) => (kind === "standing" || kind === "rolling" ? [name] : [])));
  return {
    ...answer,
    where: where ?? [],
    gates: timedGates(book).filter(({ gate, start }) => countable.has(gate) && start === startFor(book, gate, undefined)),
    labels: labels.map((label) => ({ label, runs: book.runs().filter((run) => run.label === label && run.use).length })),
  };
}

/** One run by itself. */
export async function runTuneView(book: Book, { run: id, gate: wanted }: RunTuneAsked, listening?: Listening): Promise<RunTuneView> {
  const { gate, start } = askedOf(book, wanted);
  const { found, car, grip } = await fittedOf(book, listening === undefined ? quietly : stepsFor(listening));
  const run = found.runs.find((known) => known.id === id);
  const base = { run: id, gate: gate.name, losses: null, grip: null, interventions: [], controlWhy: [], movementS: null };
  if (run === undefined || car === null)
    return {
      ...base,
      why: found.leftOut.find((left) => left.run === id)?.why ?? "This run is set aside: use it again to see where its time went.",
    };
  const { each, why } = groupLosses({ label: run.label, runs: [run], gate, start, car, curves: grip });
  // The control's allowed slip is found from all runs of its label together.
  const label = new Map(book.runs().map((known) => [known.id, known.label]));
  const alike = found.runs.filter((known) => known === run || (label.get(known.id) === label.get(id) && label.get(id) !== ""));
  const control = groupControl(alike, car, quickestFor([run], car, grip));
  return {
    ...base,
    losses: each[0] ?? null,
    why,
    grip: curveFor(grip, run) ?? null,
    interventions: control.each.find((known) => known.run === id)?.interventions ?? [],
    controlWhy: control.why,
    movementS: run.movementS,
  };
}
