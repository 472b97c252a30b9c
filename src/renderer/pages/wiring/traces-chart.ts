/** The signals' last half minute as one chart that can be saved and copied: one row a signal, each on its own scale. Gaps stay gaps. */
import type { WiringView } from "../../../shared/contract/wiring-contract.ts";
import { TRACE_STEP_S } from "../../../shared/wiring/trace-step.ts";
import type { ChartSource } from "../../screen/chart-tools.ts";
import { number } from "../../screen/format.ts";
import type { Palette, Surface } from "../../../shared/draw/pen.ts";
import { signalValue } from "./signal-value.ts";
import { ROLE_TITLES } from "./wiring-words.ts";

const SAVED = { width: 900, row: 64, px: 20, left: 300, right: 130 } as const;

type Shown = WiringView["roles"][number]["signals"][number] & { readonly title: string };
const shownOf = (view: WiringView | null): Shown[] =>
  (view?.roles ?? []).flatMap(({ role, signals }) => signals.map((signal) => ({ ...signal, title: ROLE_TITLES[role] })));

function paintRow({ pen, width }: Surface, signal: Shown, top: number, palette: Palette): void {
  const middle = top + SAVED.row / 2;
  const [x0, x1] = [SAVED.left, width - SAVED.right];
  const known = signal.trace.filter((value): value is number => value !== null);
  const [low, high] = [Math.min(...known), Math.max(...known)];
  const y = (value: number) => (high === low ? middle : top + SAVED.row - 10 - ((value - low) / (high - low)) * (SAVED.row - 20));
  pen.fillStyle = palette.rule;
  pen.fillRect(0, top + SAVED.row - 1, width, 1);
  pen.textBaseline = "middle";
  pen.fillStyle = palette.ink;
  pen.textAlign = "left";
  pen.font = `700 ${SAVED.px}px "IBM Plex Sans"`;
  pen.fillText(signal.title, 0, middle - SAVED.px * 0.6, SAVED.left - 16);
  pen.font = `500 ${SAVED.px}px "IBM Plex Sans"`;
  pen.fillStyle = palette.ink2;
  pen.fillText(signal.signal, 0, middle + SAVED.px * 0.6, SAVED.left - 16);
  pen.textAlign = "right";
  pen.fillStyle = palette.ink;
  pen.fillText(signalValue(signal), width, middle, SAVED.right - 12);
  pen.strokeStyle = palette.ink;
  pen.lineWidth = 2;
  pen.beginPath();
  let joined = false;
  signal.trace.forEach((value, i) => {
    if (value === null) {
      joined = false;
      return;
    }
    const x = x0 + (i / Math.max(1, signal.trace.length - 1)) * (x1 - x0);
    if (joined) pen.lineTo(x, y(value));
    else pen.moveTo(x, y(value));
    joined = true;
  });
  pen.stroke();
}

export function tracesChart(now: () => WiringView | null): ChartSource {
  const shown = () => shownOf(now()).filter(({ trace }) => trace.some((value) => value !== null));
  return {
    name: () => "signals",
    title: () =>
      `Signals as they are wired, the last ${number(Math.max(0, ...shown().map(({ trace }) => trace.length - 1)) * TRACE_STEP_S)} s`,
    picture() {
      const signals = shown();
      if (signals.length === 0) return null;
      return {
        width: SAVED.width,
        height: SAVED.row * signals.length,
        paint(surface, palette) {
          for (const [i, signal] of signals.entries()) paintRow(surface, signal, i * SAVED.row, palette);
        },
      };
    },
    table() {
      const signals = shown();
      const length = Math.max(0, ...signals.map(({ trace }) => trace.length));
      if (length === 0) return null;
      return {
        columns: [
          { name: "Time before now", unit: "s" },
          ...signals.map(({ title, signal, unit }) => ({ name: `${title}, ${signal}`, unit })),
        ],
        rows: Array.from({ length }, (_, i) => [
          Number(((i - length + 1) * TRACE_STEP_S).toFixed(2)),
          ...signals.map(({ trace }) => trace[i + trace.length - length]),
        ]),
      };
    },
  };
}
