/**
 * Hints on what to try next, from where a group's launches slipped and how much torque was held back. A hint is no
 * result and changes nothing by itself; with too little data there is none, and that is said.
 */
import { KMH_PER_MPS } from "../kernel/units.ts";
import type { RunSamples } from "../run/run.ts";
import { mean } from "./permutation.ts";
import { fixed } from "./wording.ts";

export interface AdviceRun {
  readonly id: number;
  readonly samples: RunSamples;
  readonly movementS: number;
  /** End of the launch, before the driver lifts. */
  readonly endS: number;
}

export interface Hint {
  readonly kind: "allowMoreSlip" | "allowLessSlip" | "answersLate";
  /** One or two sentences, the evidence in them. */
  readonly words: string;
  readonly runs: readonly number[];
  readonly evidence: Readonly<Record<string, number>>;
}

/** A sample where the tyre, not the driver or the battery, may limit the launch. */
interface Moment {
  readonly speedKmh: number;
  readonly slip: number;
  readonly heldNm: number;
  readonly askedNm: number;
  readonly accelerationMps2: number;
}

const SLIP_BIN = 0.025;
const SPEED_BIN_KMH = 10;
/** 0.2 s of samples: less is a moment, not a habit. */
const LEAST_SAMPLES = 20;
const LEAST_RUNS = 2;
const HELD_NM = 5;
const MEANT_PEDAL_PERCENT = 50;
/** Differences that are worth a sentence: slip, acceleration, share of torque, time to answer. */
const WORTH_SLIP = 0.03;
const WORTH_MPS2 = 0.3;
const WORTH_HELD_SHARE = 0.05;
const WORTH_ANSWER_S = 0.1;
const SLIPPING = 0.1;

const at = (column: Float64Array | undefined, row: number) => column?.[row] ?? Number.NaN;

function momentsOf({ samples, movementS, endS }: AdviceRun): Moment[] {
  const moments: Moment[] = [];
  for (let row = 0; row < samples.tS.length; row += 1) {
    const t = samples.tS[row];
    if (t < movementS || t > endS || !(at(samples.roles.pedal, row) > MEANT_PEDAL_PERCENT)) continue;
    const askedNm = at(samples.roles.torqueRequest, row);
    const heldNm = Math.max(0, askedNm - at(samples.roles.torqueDelivered, row));
    const slip = at(samples.slipRatio, row);
    const accelerationMps2 = at(samples.accelerationMps2, row);
    if (![askedNm, heldNm, slip, accelerationMps2].every(Number.isFinite)) continue;
    moments.push({ speedKmh: at(samples.groundSpeedMps, row) * KMH_PER_MPS, slip, heldNm, askedNm, accelerationMps2 });
  }
  return moments;
}

function binned(moments: readonly Moment[], binOf: (moment: Moment) => number): Map<number, Moment[]> {
  const bins = new Map<number, Moment[]>();
  for (const moment of moments) {
    const bin = binOf(moment);
    const inBin = bins.get(bin);
    if (inBin) inBin.push(moment);
    else bins.set(bin, [moment]);
  }
  return new Map([...bins].filter(([, inBin]) => inBin.length >= LEAST_SAMPLES));
}

const average = (moments: readonly Moment[], key: keyof Moment) => mean(moments.map((moment) => moment[key]));
const inPercent = (slip: number) => `${Math.round(slip * 100)} %`;

/** The slip at which these launches pulled hardest, where the tyre was at work. */
function hardestPull(moments: readonly Moment[]): { slip: number; mps2: number } | null {
  const working = moments.filter((moment) => moment.heldNm > HELD_NM || moment.slip > SLIPPING / 2);
  let best: { slip: number; mps2: number } | null = null;
  for (const [bin, inBin] of binned(working, (moment) => Math.floor(moment.slip / SLIP_BIN))) {
    const mps2 = average(inBin, "accelerationMps2");
    if (best === null || mps2 > best.mps2) best = { slip: (bin + 0.5) * SLIP_BIN, mps2 };
  }
  return best;
}

function speedHints(moments: readonly Moment[], runs: readonly number[]): Hint[] {
  const best = hardestPull(moments);
  if (!best) return [];
  const hints: Hint[] = [];
  for (const [bin, inBin] of [...binned(moments, (moment) => Math.floor(moment.speedKmh / SPEED_BIN_KMH))].sort((x, y) => x[0] - y[0])) {
    const slip = average(inBin, "slip");
    const heldNm = average(inBin, "heldNm");
    const askedNm = average(inBin, "askedNm");
    const mps2 = average(inBin, "accelerationMps2");
    if (mps2 > best.mps2 - WORTH_MPS2) continue;
    const [fromKmh, toKmh] = [bin * SPEED_BIN_KMH, (bin + 1) * SPEED_BIN_KMH];
    const evidence = { hardestAtSlip: best.slip, hardestMps2: best.mps2, fromKmh, toKmh, slip, heldNm, accelerationMps2: mps2 };
    const pull = `Pulls hardest at ${inPercent(best.slip)} slip: ${fixed(best.mps2, 1)} m/s².`;
    const here = `From ${fromKmh} to ${toKmh} km/h it slips ${inPercent(slip)}, holds ${Math.round(heldNm)} Nm back and pulls ${fixed(mps2, 1)} m/s².`;
    if (slip < best.slip - WORTH_SLIP && heldNm > WORTH_HELD_SHARE * askedNm) {
      hints.push({ kind: "allowMoreSlip", words: `${pull} ${here} Allow more slip there, and only that.`, runs, evidence });
    } else if (slip > best.slip + WORTH_SLIP) {
      hints.push({ kind: "allowLessSlip", words: `${pull} ${here} Hold back more there, and only that.`, runs, evidence });
    }
  }
  return hints;
}

/** Seconds from slip passing 10 % to torque first being held back; null where either never happened or the control was already at work. */
function answerS({ samples, movementS, endS }: AdviceRun): number | null {
  let slippingS: number | null = null;
  for (let row = 0; row < samples.tS.length; row += 1) {
    const t = samples.tS[row];
    if (t < movementS || t > endS) continue;
    const held = at(samples.roles.torqueRequest, row) - at(samples.roles.torqueDelivered, row);
    if (held > HELD_NM) return slippingS === null ? null : t - slippingS;
    if (slippingS === null && at(samples.slipRatio, row) > SLIPPING) slippingS = t;
  }
  return null;
}

function answerHints(runs: readonly AdviceRun[]): Hint[] {
  const answers = runs.map(answerS).filter((answer): answer is number => answer !== null);
  if (answers.length < LEAST_RUNS) return [];
  const middle = [...answers].sort((x, y) => x - y)[answers.length >> 1];
  if (middle < WORTH_ANSWER_S) return [];
  const words = `Torque is first held back ${fixed(middle)} s after slip passes 10 % (middle of ${answers.length} runs). Let it answer sooner, and only that.`;
  return [{ kind: "answersLate", words, runs: runs.map((run) => run.id), evidence: { answerS: middle, runs: answers.length } }];
}

/** At most three hints for one group, strongest evidence first; none for fewer than two runs. */
export function adviseFrom(runs: readonly AdviceRun[]): Hint[] {
  if (runs.length < LEAST_RUNS) return [];
  const ids = runs.map((run) => run.id);
  const hints = speedHints(runs.flatMap(momentsOf), ids);
  const lost = (hint: Hint) => (hint.evidence.hardestMps2 ?? 0) - (hint.evidence.accelerationMps2 ?? 0);
  const told = [...hints.sort((x, y) => lost(y) - lost(x)).slice(0, 2), ...answerHints(runs)];
  // Each asks for one change and no other: two together would be two.
  return told.map((hint, i) => (i === 0 ? hint : { ...hint, words: `In a test of its own: ${hint.words}` }));
}
