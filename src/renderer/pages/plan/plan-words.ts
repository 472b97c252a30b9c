/** A plan in sentences: how far it is, how its order was drawn, which mark is which group, and how many runs the scatter asks for. */
import type { PlanChoicesView, PlanView } from "../../../shared/contract/judge-views.ts";
import type { Plan } from "../../../shared/judge/plan.ts";
import { grouped } from "../../../shared/judge/wording.ts";
import { number, quantity } from "../../screen/format.ts";

const capital = (text: string) => `${text.charAt(0).toUpperCase()}${text.slice(1)}`;
const runsWord = (runs: number | null) => (runs === null ? "more than 40" : String(runs));

/** `drawn`: an order stands there that is not in force yet. */
export function planTitle({ progress }: PlanView, drawn: boolean): string {
  if (drawn) return "Drawn by lot, not in use yet.";
  return progress === null ? "No plan yet: six and six, there and back, is suggested." : `${capital(progress.words)}.`;
}

export function planLead(plan: Plan | null): string {
  if (plan === null) return "An order drawn by lot is what lets chance be counted. Fill in the usable length and the run-off, then draw.";
  const { arrangements } = plan.choice;
  const orders = arrangements === null ? "" : `, one of ${grouped(arrangements)} orders`;
  return `${plan.request.runsPerGroup} runs a group${orders}, seed ${plan.request.seed}. ${plan.length.words}.`;
}

/** "ring: off; disc: on; outbound above the line, back below" */
export function marksWords(plan: Plan): string {
  const names = [...new Set(plan.slots.map((slot) => slot.direction))];
  const marks = plan.request.groups.map((group, i) => `${["ring", "disc", "half disc", "ring with a dot"][i] ?? "square"}: ${group}`);
  return [...marks, ...(names.length > 1 ? [`${names[0]} above the line, ${names[1]} below`] : [])].join("; ");
}

/** For people who cannot see the string. */
export const slotsWords = ({ slots }: Plan) =>
  `Slots in order: ${slots.map((slot) => `${slot.slot + 1} ${slot.group}, ${slot.direction}`).join("; ")}`;

/** `runs`: a group, as planned. */
export function neededWords({ scatter, needed, findableS }: PlanChoicesView, runs: number): string {
  if (scatter === null) return "Scatter is unknown until a group has two runs: how many are needed cannot be told yet.";
  const found =
    findableS === null ? "" : ` ${runs} and ${runs} there and back find a difference of ${quantity(findableS, "s", 2)} four times in five.`;
  const wanted =
    needed === null
      ? ""
      : ` The difference hoped for needs ${runsWord(needed.runsPerGroup)} runs a group (${runsWord(needed.from)} to ${runsWord(needed.to)}).`;
  return `Scatter of single runs so far ${quantity(scatter.seconds, "s", 3)} (${number(scatter.low, 3)} to ${number(scatter.high, 3)}).${found}${wanted}`;
}
