/**
 * How full the receiver's serial line is. A line that is nearly full delays epochs and loses some when it overflows. Null where the set-up
 * names no baud, the receiver is no serial port or native USB (no serial line), or there are too few epochs.
 */
import { LONGEST_STEP_S } from "./usable-epochs.ts";
import type { SetUp } from "../setup/set-up.ts";
import { isSerial } from "../setup/source-name.ts";
import type { AlignedEpochs } from "./aligned-recording.ts";

/** Start bit, eight data bits, stop bit (NMEA 0183: 8N1). */
export const BITS_A_BYTE = 10;
/** The share of the line above which docs/design.md asks for a warning. */
const FULL = 0.7;
const LEAST_EPOCHS = 20;
/** Names under which Linux and macOS list native USB receivers. */
const NATIVE_USB = /ttyACM|usbmodem/;

/** One sentence for people where the receiver's line is over 70 % full, else null. */
export function lineLoadNote(epochs: AlignedEpochs, setUp: SetUp): string | null {
  const gnss = setUp.sources.gnss;
  if (gnss === undefined || !isSerial(gnss) || gnss.line === "usb" || (gnss.line === undefined && NATIVE_USB.test(gnss.port))) return null;
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
  return `The receiver's line is ${(100 * share).toFixed(0)} % full at ${gnss.baud} baud, so epochs come late: raise its baud, or let it send fewer sentences.`;
}
