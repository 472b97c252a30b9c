/**
 * What is drawn on the passenger's view: the launch while it grows and for a while after it; at rest the newest run's print. Scales only
 * grow, so that nothing jumps.
 */
import type { LiveEvent, RunRow } from "../../../shared/contract/contract.ts";
import { printData } from "../../../shared/draw/print-data.ts";
import type { RunPrint } from "../../../shared/run/run-print.ts";
import type { SeamData } from "../../../shared/draw/seam-columns.ts";
import { axisSeconds, dayScales } from "../../figures/drive-expectation.ts";
import type { LiveTrace } from "../../live/live-trace.ts";
import type { Frame } from "../../screen/page.ts";
import { units } from "../../screen/units.ts";
import type { DriveFigure } from "./drive-painter.ts";
import type { ExpectedGates } from "./expected-gates.ts";
import type { LaunchNews } from "./launch-news.ts";

const TORQUE_SCALES_NM = [100, 200, 420, 650, 1000] as const;
const scaleFor = (scales: readonly number[], value: number) => scales.find((scale) => scale >= value) ?? Math.max(value, 1);
const NO_TRACE: SeamData = { timeS: [], slipKmh: [], heldNm: [], intervening: [] };

export interface DriveFiguresOptions {
  readonly frame: Frame;
  readonly trace: LiveTrace;
  readonly news: LaunchNews;
  readonly expected: ExpectedGates;
}

/** "Run 19, aborted": nothing else on the screen says it any more. */
const nameOf = ({ id, use, flags }: RunRow) =>
  [`Run ${id}`, flags.some(({ flag }) => flag === "aborted") ? "aborted" : "", use ? "" : "set aside"]
    .filter((part) => part !== "")
    .join(", ");

/** Returns a function that draws a live event; null draws the unknown state. */
export function createDriveFigures({ frame, trace, news, expected }: DriveFiguresOptions): (live: LiveEvent | null) => DriveFigure {
  let mostTorqueNm = 0;
  let mostSpeedMps = 0;
  /** The resting print: the same data with every frame. */
  let print: RunPrint | null = null;
  let ofPrint = NO_TRACE;
  function restingTrace(run: RunRow): SeamData {
    if (run.print !== print) [print, ofPrint] = [run.print, printData(run.print)];
    return ofPrint;
  }
  return (live) => {
    mostTorqueNm = Math.max(mostTorqueNm, live?.torqueRequestNm ?? 0, live?.torqueDeliveredNm ?? 0);
    mostSpeedMps = Math.max(mostSpeedMps, live?.wheelSpeedMps ?? 0, live?.groundSpeedMps ?? 0);
    const { perMps, speedScales } = units();
    const shown = news.inView(live);
    const resting = live?.state === "idle" ? frame.runs().at(-1) : undefined;
    return {
      live,
      trace: shown ? trace.data : resting === undefined ? NO_TRACE : restingTrace(resting),
      whose: shown || resting === undefined ? "" : nameOf(resting),
      penS: live?.state === "launched" ? live.launchS : !shown && (live?.state === "standing" || live?.state === "armed") ? 0 : null,
      axisS: axisSeconds(expected.expectation(), shown ? trace.endS() : null),
      // Gates expected for another label are left out: they would seem to say that this run passed them there.
      posts: resting !== undefined && resting.label !== live?.nextLabel ? [] : expected.posts(shown ? (live?.gates ?? null) : null),
      scales: dayScales(frame.runs()),
      speedScaleMps: scaleFor(speedScales, mostSpeedMps * perMps) / perMps,
      torqueScaleNm: scaleFor(TORQUE_SCALES_NM, mostTorqueNm),
    };
  };
}
