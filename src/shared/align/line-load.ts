/**
 * How full the receiver's serial line is: a line that is nearly full delays epochs, and drops them when it overflows.
 * Null where the set-up names no baud, the port is native USB (which has no line), or epochs are too few to tell.
 */
import type { SetUp } from "../setup/set-up.ts";
import type { AlignedEpochs } from "./aligned-recording.ts";

/** Start bit, eight data bits, stop bit (NMEA 0183: 8N1). */
const BITS_A_BYTE = 10;
/** Share of the line from which docs/design.md warns. */
const FULL = 0.7;
const LEAST_EPOCHS = 20;
/** Longer from one epoch to the next is an interruption, not the receiver's rate. */
const LONGEST_STEP_S = 1.5;
/** Names under which Linux and macOS list native USB receivers. */
const NATIVE_USB = /ttyACM|usbmodem/;

/** A sentence for people where the receiver's line is over 70 % full, else null. */
export function lineLoadNote(epochs: AlignedEpochs, setUp: SetUp): string | null {
  const gnss = setUp.sources.gnss;
  if (gnss === undefined || gnss.line === "usb" || (gnss.line === undefined && NATIVE_USB.test(gnss.port))) return null;
  let [bytes, seconds, count] = [0, 0, 0];
  for (let i = 1; i < epochs.tS.length; i++) {
    const stepS = epochs.tS[i] - epochs.tS[i - 1];
    if (!(stepS > 0 && stepS < LONGEST_STEP_S && epochs.burstBytes[i] > 0)) continue;
    bytes += epochs.burstBytes[i];
    seconds += stepS;
    count += 1;
  }
  if (count < LEAST_EPOCHS) return null;
  const share = (BITS_A_BYTE * bytes) / (seconds * gnss.baud);
  if (share <= FULL) return null;
  return `The receiver's line is ${(100 * share).toFixed(0)} % full at ${gnss.baud} baud, so that epochs come late: raise its baud, or have it send fewer sentences.`;
}
