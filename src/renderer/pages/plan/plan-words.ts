/** A plan in sentences: its progress, how its order was drawn, which mark belongs to which group, and how many runs the scatter needs. */
import { lengthWords } from "../../../shared/judge/usable-length.ts";
import type { PlanChoicesView, PlanView } from "../../../shared/contract/judge-views.ts";
import type { Plan } from "../../../shared/judge/plan.ts";
import { MARK_NAMES, markOf } from "../../../shared/draw/group-mark.ts";
import { grouped } from "../../../shared/judge/wording.ts";
import { number, quantity } from "../../screen/format.ts";

const capital = (text: string) => `${text.charAt(0).toUpperCase()}${text.slice(1)}`;
const runsWord = (runs: number | null) => (runs === null ? "more than 40" : String(runs));

/** `drawn`: an order that is not used yet is shown. */
export function planTitle({ progress }: PlanView, drawn: boolean): string {
  if (drawn) return "Drawn at random, not in use yet.";
  return progress === null ? "No plan yet: six and six, there and back, is suggested." : `${capital(progress.words)}.`;
}

/** Groups of a plan that are compared pair by pair; with more, each setting's worth is fitted to all runs. */
export const MOST_IN_PAIRS = 3;

export function planLead(plan: Plan | null): string {
  if (plan === null) return "Only with a random order can chance be counted. Fill in the usable length and the run-off, then draw.";
  const { arrangements } = plan.choice;
  // Of many settings no pair is judged by its own orders: they are looked at together.
  const orders = arrangements === null || plan.request.groups.length > MOST_IN_PAIRS ? "" : `, one of ${grouped(arrangements)} orders`;
  return `${plan.request.runsPerGroup} runs a group${orders}, seed ${plan.request.seed}. ${lengthWords(plan.length)}.`;
}

/** "ring: off; disc: on; outbound above the line, back below" */
export function marksWords(plan: Plan, groups: readonly string[]): string {
  const names = [...new Set(plan.slots.map((slot) => slot.direction))];
  const known = [...new Set([...groups, ...plan.request.groups])];
  const marks = plan.request.groups.map((group) => `${MARK_NAMES[markOf(known, group)] ?? MARK_NAMES.at(-1)}: ${group}`);
  return [...marks, ...(names.length > 1 ? [`${names[0]} above the line, ${names[1]} below`] : [])].join("; ");
}

/** For people who cannot see the string. */
export const slotsWords = ({ slots }: Plan) =>
  `Slots in order: ${slots.map((slot) => `${slot.slot + 1} ${slot.group}, ${slot.direction}`).join("; ")}`;

/** `runs`: runs a group, as planned. */
export function neededWords({ scatter, needed, findableS }: PlanChoicesView, runs: number): string {
  if (scatter === null) return "Scatter is unknown until a group has two runs: how many are needed cannot be told yet.";
  const found =
    findableS === null ? "" : ` ${runs} and ${runs} there and back find a difference of ${quantity(findableS, "s", 2)} four times in five.`;
  const between = needed === null || needed.from === needed.to ? "" : ` (${runsWord(needed.from)} to ${runsWord(needed.to)})`;
  const wanted = needed === null ? "" : ` The expected difference needs ${runsWord(needed.runsPerGroup)} runs a group${between}.`;
  return `Scatter of single runs so far ${quantity(scatter.seconds, "s", 3)} (${number(scatter.low, 3)} to ${number(scatter.high, 3)}).${found}${wanted}`;
}
