/**
 * One run's columns by the core's names, in this screen's units, and what the figures derive from them. A missing column reads as unknown
 * throughout.
 */
import type { RunColumns, RunView } from "../../../shared/contract/contract.ts";
import type { SeamData } from "../../../shared/draw/seam-columns.ts";
import { shownColumn } from "../../../shared/kernel/shown-units.ts";
import { units } from "../../screen/units.ts";

export interface RunData {
  readonly view: RunView;
  readonly timeS: Float32Array;
  readonly names: readonly string[];
  /** In the core's units, as every print. */
  readonly seam: SeamData;
  column(name: string): Float32Array;
  unit(name: string): string;
  /** The column's name, which ends with its unit. */
  shownName(name: string): string;
  /** The row at or just before a time. */
  rowAt(timeS: number): number;
}

export function createRunData(view: RunView, data: RunColumns): RunData {
  const at = (name: string) => data.names.indexOf(name);
  const timeS = data.columns[at("timeS")] ?? new Float32Array();
  const unknown = new Float32Array(timeS.length).fill(Number.NaN);
  const shown = data.names.map((name, i) => shownColumn(units(), name, data.units[i] ?? ""));
  const columns = data.columns.map((values, i) => {
    const factor = shown[i]?.factor ?? 1;
    return factor === 1 ? values : values.map((value) => value * factor);
  });
  const column = (name: string) => columns[at(name)] ?? unknown;
  const asked = column("torqueRequestNm");
  const delivered = column("torqueDeliveredNm");
  const heldNm = asked.map((value, i) => (value <= 0 ? 0 : Math.max(0, value - delivered[i])));
  return {
    view,
    timeS,
    names: data.names,
    column,
    unit: (name) => shown[at(name)]?.unit ?? "",
    shownName: (name) => shown[at(name)]?.name ?? name,
    seam: { timeS, slipKmh: data.columns[at("slipSpeedKmh")] ?? unknown, heldNm, intervening: column("tractionControlActive") },
    rowAt(time) {
      let [low, high] = [0, timeS.length - 1];
      while (low < high) {
        const middle = (low + high + 1) >> 1;
        if (timeS[middle] <= time + 1e-6) low = middle;
        else high = middle - 1;
      }
      return low;
    },
  };
}

export interface Window {
  readonly fromS: number;
  readonly toS: number;
}

/** The launch itself: from a little before movement to a little after the last gate that was reached. */
export function launchWindow(data: RunData): Window {
  const last = Math.max(0, ...data.view.gates.filter((gate) => gate.start === "movement").map((gate) => gate.seconds ?? 0));
  const end = data.timeS.at(-1) ?? 6;
  return { fromS: -0.3, toS: Math.min(end, last > 0 ? last + 0.6 : 6) };
}

export const wholeWindow = (data: RunData): Window => ({ fromS: data.timeS[0] ?? 0, toS: data.timeS.at(-1) ?? 1 });

/** Zooms about a time; stays inside the run, and shows at least 50 ms. */
export function zoom(window: Window, aboutS: number, factor: number, whole: Window): Window {
  const width = Math.min(whole.toS - whole.fromS, Math.max(0.05, (window.toS - window.fromS) * factor));
  const share = (aboutS - window.fromS) / (window.toS - window.fromS);
  const fromS = Math.min(Math.max(whole.fromS, aboutS - share * width), whole.toS - width);
  return { fromS, toS: fromS + width };
}
