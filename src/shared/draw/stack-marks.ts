/**
 * Marks on one line that never touch: those that would are moved above and below it in turns. A crowd gets smaller marks; marks that still
 * have no room are left out and counted. Pure.
 */

export interface Stacked {
  /** Radius of every mark, px. */
  readonly radius: number;
  /** How far each mark lies from the line (negative: above), in the given order; null where it had no room. */
  readonly away: readonly (number | null)[];
}

/** Space around a mark's edge, px. */
const BETWEEN = 4;
const LEAST_RADIUS = 3;
const SMALLER = 0.85;

function placed(xs: readonly number[], radius: number, band: number): (number | null)[] {
  const away: (number | null)[] = xs.map(() => null);
  const order = [...xs.keys()].sort((a, b) => xs[a] - xs[b]);
  const step = radius / 2;
  const most = Math.max(0, Math.floor((band - radius) / step));
  const done: { x: number; y: number }[] = [];
  for (const i of order) {
    const x = xs[i];
    const near = done.filter((other) => Math.abs(other.x - x) < 2 * radius + BETWEEN);
    for (let turn = 0; turn <= 2 * most; turn += 1) {
      const y = (turn % 2 === 1 ? -1 : 1) * Math.ceil(turn / 2) * step;
      if (near.some((other) => Math.hypot(other.x - x, other.y - y) < 2 * radius + BETWEEN)) continue;
      away[i] = y;
      done.push({ x, y });
      break;
    }
  }
  return away;
}

/** `band`: room above and below the line, px; every mark stays inside. */
export function stackMarks(xs: readonly number[], radius: number, band: number): Stacked {
  for (let size = radius; ; size = Math.max(LEAST_RADIUS, size * SMALLER)) {
    const away = placed(xs, size, band);
    if (size <= LEAST_RADIUS || away.every((y) => y !== null)) return { radius: size, away };
  }
}
