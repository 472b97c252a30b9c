/**
 * The plan as a string of slots on the ground line: first direction above, second below. Driven slots are joined by a solid line and have
 * their time; open ones are on a hollow line.
 */
import type { Plan } from "../../../shared/judge/plan.ts";
import { number } from "../../screen/format.ts";
import { markOf, paintGroupMark } from "../../../shared/draw/group-mark.ts";
import type { Palette, Surface } from "../../../shared/draw/pen.ts";

export interface StringShow {
  /** Groups of the book; their places decide their marks. */
  readonly groups: readonly string[];
  readonly plan: Plan;
  readonly filled: readonly (number | null)[];
  readonly seconds: readonly (number | null)[];
  readonly next: number | null;
}

const MOST_RADIUS = 9;

export function paintPlanString(
  { pen, width, height }: Surface,
  { groups, plan, filled, seconds, next }: StringShow,
  palette: Palette,
  px: number,
): void {
  const known = [...new Set([...groups, ...plan.request.groups])];
  const count = plan.slots.length;
  const y = height / 2;
  const step = width / count;
  const away = px * 1.7;
  const radius = Math.min(MOST_RADIUS, Math.max(2.5, step / 2 - 3));
  const x = (slot: number) => (slot + 0.5) * step;
  const driven = filled.filter((run) => run !== null).length;
  pen.fillStyle = palette.ink;
  pen.fillRect(0, y - 3, width, 6);
  pen.fillStyle = palette.sheet;
  const from = next === null ? width : x(next) - step / 2;
  if (driven < count) pen.fillRect(from, y - 1, width - from - 2, 2);
  const above = plan.slots[0]?.direction;
  // With little room only every second or third number is written; all marks are drawn.
  const every = Math.max(1, Math.ceil((px * 2.6) / step));
  pen.font = `500 ${px}px "IBM Plex Sans"`;
  pen.textAlign = "center";
  pen.textBaseline = "middle";
  for (const { slot, group, direction } of plan.slots) {
    const side = direction === above ? -1 : 1;
    const at = y + side * away;
    pen.fillStyle = palette.ink;
    pen.fillRect(x(slot) - 1.5, Math.min(at, y), 3, away);
    paintGroupMark(pen, markOf(known, group), { x: x(slot), y: at, radius }, palette);
    if (slot === next) {
      pen.strokeStyle = palette.ink;
      pen.lineWidth = 4;
      // Kept inside at both ends, where a phone has no room beside the mark.
      const [left, right] = [Math.max(2, x(slot) - radius - 9), Math.min(width - 2, x(slot) + radius + 9)];
      pen.strokeRect(left, at - radius - 9, right - left, 2 * radius + 18);
    }
    if (slot % every !== 0) continue;
    const time = seconds[slot];
    const run = filled[slot];
    pen.fillStyle = palette.ink;
    if (run !== null && run !== undefined) pen.fillText(time == null ? "\u2014" : number(time, 2), x(slot), at + side * (radius + px));
    pen.fillStyle = palette.ink2;
    pen.fillText(run === null || run === undefined ? String(slot + 1) : String(run), x(slot), y - side * px * 1.1);
  }
}
