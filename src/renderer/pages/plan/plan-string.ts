/** The plan as a string of slots on the ground line: first direction above it, second below; driven slots joined by the solid line and with their time, open ones on a hollow one. */
import type { Plan } from "../../../shared/judge/plan.ts";
import { number } from "../../screen/format.ts";
import { paintGroupMark } from "../../draw/group-mark.ts";
import type { Palette, Surface } from "../../draw/palette.ts";

export interface StringShow {
  readonly plan: Plan;
  readonly filled: readonly (number | null)[];
  readonly seconds: readonly (number | null)[];
  readonly next: number | null;
}

const MOST_RADIUS = 9;

export function paintPlanString(
  { context, width, height }: Surface,
  { plan, filled, seconds, next }: StringShow,
  palette: Palette,
  px: number,
): void {
  const count = plan.slots.length;
  const y = height / 2;
  const step = width / count;
  const away = px * 1.7;
  const radius = Math.min(MOST_RADIUS, Math.max(2.5, step / 2 - 3));
  const x = (slot: number) => (slot + 0.5) * step;
  const driven = filled.filter((run) => run !== null).length;
  context.fillStyle = palette.ink;
  context.fillRect(0, y - 3, width, 6);
  context.fillStyle = palette.sheet;
  const from = next === null ? width : x(next) - step / 2;
  if (driven < count) context.fillRect(from, y - 1, width - from - 2, 2);
  const above = plan.slots[0]?.direction;
  // With little room only every second or third number is written; the marks all stand.
  const every = Math.max(1, Math.ceil((px * 2.6) / step));
  context.font = `500 ${px}px "IBM Plex Sans"`;
  context.textAlign = "center";
  context.textBaseline = "middle";
  for (const { slot, group, direction } of plan.slots) {
    const side = direction === above ? -1 : 1;
    const at = y + side * away;
    context.fillStyle = palette.ink;
    context.fillRect(x(slot) - 1.5, Math.min(at, y), 3, away);
    paintGroupMark(context, plan.request.groups.indexOf(group), x(slot), at, radius, palette);
    if (slot === next) {
      context.strokeStyle = palette.ink;
      context.lineWidth = 4;
      // Whole at both ends too, where a phone has no room beside the mark.
      const [left, right] = [Math.max(2, x(slot) - radius - 9), Math.min(width - 2, x(slot) + radius + 9)];
      context.strokeRect(left, at - radius - 9, right - left, 2 * radius + 18);
    }
    if (slot % every !== 0) continue;
    const time = seconds[slot];
    const run = filled[slot];
    context.fillStyle = palette.ink;
    if (run !== null && run !== undefined) context.fillText(time == null ? "\u2014" : number(time, 2), x(slot), at + side * (radius + px));
    context.fillStyle = palette.ink2;
    context.fillText(run === null || run === undefined ? String(slot + 1) : String(run), x(slot), y - side * px * 1.1);
  }
}
