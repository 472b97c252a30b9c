/** A second gear put in within a launch: the set-up knows one ratio, and what its motor speed says after that is no wheel's. Without torque nothing can be told. */
import type { TuneRun } from "./tune-run.ts";

/** Motor speed behind the road by this while the motor drives: another gear is in. */
const SHIFTED_SLIP = -0.08;
const DRIVING_SHARE = 0.2;
const SHIFTED_ROWS = 8;
/** The change itself lies before it is seen. */
const ROWS_BEFORE = 24;

/** First row of the launch that cannot be trusted; null where one gear stayed in. */
export function gearChangedAt(run: TuneRun): number | null {
  const { slipRatio, deliveredNm, pedalPercent } = run.samples;
  if (deliveredNm === null) return null;
  let most = 0;
  for (let i = run.startIndex; i < run.endIndex; i += 1) if (deliveredNm[i] > most) most = deliveredNm[i];
  let rows = 0;
  for (let i = run.startIndex; i < run.endIndex; i += 1) {
    const drives = deliveredNm[i] > DRIVING_SHARE * most && (pedalPercent === null || pedalPercent[i] > 50);
    rows = drives && slipRatio[i] < SHIFTED_SLIP ? rows + 1 : 0;
    if (rows >= SHIFTED_ROWS) return Math.max(run.startIndex, i - ROWS_BEFORE);
  }
  return null;
}
