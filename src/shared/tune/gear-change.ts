/**
 * Detects a gear change inside a launch. The set-up has one gear ratio; after a change, motor speed no longer gives wheel speed. Without
 * torque nothing can be detected.
 */
import type { TuneRun } from "./tune-run.ts";

/** Motor speed this far below road speed while the motor drives means that another gear is in. */
const SHIFTED_SLIP = -0.08;
const DRIVING_SHARE = 0.2;
const SHIFTED_ROWS = 8;
/** The change happens before it is detected: this many rows before are distrusted too. */
const ROWS_BEFORE = 24;

/** First row of the launch that cannot be trusted; null where the gear was not changed. */
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

/** Ground speed at which another gear was seen, m/s, where that came before a speed was reached; null where it did not. */
export function gearChangedBelow(run: TuneRun, toMps: number): number | null {
  const row = gearChangedAt(run);
  const atMps = row === null ? Number.NaN : run.samples.groundSpeedMps[row];
  return atMps < toMps ? atMps : null;
}
