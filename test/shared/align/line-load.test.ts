// Line load by hand: 8 data bits with start and stop bit (IEC 61162-1, serial NMEA 0183) are 10 bits a byte.
import { describe, expect, test } from "vitest";
import { alignRecording } from "../../../src/shared/align/align-recording.ts";
import { lineLoadNote } from "../../../src/shared/align/line-load.ts";
import { gentleDrive, SET_UP } from "./gentle-drive.ts";

// 150 bytes an epoch, 10 epochs a second: 15,000 bits a second.
const { epochs } = alignRecording(
  gentleDrive({ seed: 1, seconds: 30, rateHz: 10, undriven: false, jitter: "burst", truth: {} }).tracks,
  SET_UP,
);
const at = (baud: number, port = "/dev/ttyUSB0") => lineLoadNote(epochs, { ...SET_UP, sources: { gnss: { port, baud } } });

describe("lineLoadNote()", () => {
  test("warns of a line over 70 % full, with the share worked out by hand", () => {
    expect(at(19_200)).toMatch(/ 78 % full at 19200 baud/);
    expect(at(9600)).toMatch(/ 156 % full/);
  });

  test("is silent below that, on native USB, without a baud, and where bytes were not seen", () => {
    expect(at(38_400)).toBeNull();
    expect(at(9600, "/dev/ttyACM0")).toBeNull();
    expect(lineLoadNote(epochs, { ...SET_UP, sources: {} })).toBeNull();
    const unseen = { ...epochs, burstBytes: epochs.burstBytes.map(() => Number.NaN) };
    expect(lineLoadNote(unseen, { ...SET_UP, sources: { gnss: { port: "/dev/ttyUSB0", baud: 9600 } } })).toBeNull();
  });
});
