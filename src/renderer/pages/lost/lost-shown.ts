/**
 * What Time lost shows of an answer: which group, its grip curve, the losses by cause and by speed, and the warnings. Null and empty where
 * nothing is known.
 */
import type { TuneView } from "../../../shared/contract/tune-views.ts";
import type { HeldAt } from "../../../shared/draw/grip-painter.ts";
import { apart } from "../../../shared/judge/wording.ts";
import type { AdvisedGroup } from "../../../shared/tune/advised-group.ts";
import type { GripCurve } from "../../../shared/tune/grip-curve.ts";
import { secondsByCause, toldBands, toldLosses } from "../../../shared/tune/loss-words.ts";
import type { ShownLosses } from "../../figures/loss-figure.ts";
import { units } from "../../screen/units.ts";

const told = (view: TuneView) => view.groups.filter((one) => toldLosses(one).length > 0);

/** The group chosen by its label; otherwise the first one with advice; otherwise the last. */
export function shownGroup(view: TuneView, label: string | null): AdvisedGroup | null {
  const { groups } = view;
  const advised = view.advice[0]?.group;
  return (
    groups.find((one) => one.label === label) ?? groups.find((one) => one.label === advised) ?? told(view).at(-1) ?? groups.at(-1) ?? null
  );
}

export const curveOf = ({ grip }: TuneView, group: AdvisedGroup | null): GripCurve | null =>
  grip.find((curve) => group?.runs.some((run) => curve.runs.includes(run))) ?? grip[0] ?? null;

/** Where the groups of this curve hold slip. */
export function heldOn(view: TuneView, curve: GripCurve | null): HeldAt[] {
  const names = view.groups.length > 1 ? apart(view.groups.map((one) => one.label)) : ["it"];
  return view.groups.flatMap((one, i) => {
    const { holdsSlipAt } = one.control;
    if (holdsSlipAt === null || curveOf(view, one) !== curve) return [];
    return [{ name: `${names[i] ?? one.label} holds ${(100 * holdsSlipAt.value).toFixed(1)} %`, slip: holdsSlipAt.value }];
  });
}

export function shownLosses(view: TuneView, now: AdvisedGroup | null): ShownLosses | null {
  const groups = told(view);
  if (now === null || !groups.includes(now)) return null;
  return {
    bars: groups.map((one) => ({ name: one.label, seconds: secondsByCause(toldLosses(one)) })),
    selected: groups.indexOf(now),
    losses: toldLosses(now),
    bands: toldBands(now, units()),
    atLeast: now.atLeast !== null,
  };
}

/** Which runs this is about, as a sentence with a space behind it; empty for all runs. */
export const onlyWords = (where: readonly string[]): string =>
  where.length === 0 ? "" : `Only runs with ${where.join(" and ")}, as on Compare. `;

export const lostNotes = ({ silent, car }: TuneView, curve: GripCurve | null): string[] => [
  ...silent,
  ...(car?.torqueCheck?.disagree === true ? [`${car.torqueCheck.words}.`] : []),
  ...(curve?.notes ?? []),
  ...(car?.notes ?? []),
];
