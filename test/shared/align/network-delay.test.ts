/**
 * A receiver whose epochs take a time of their own over a network: lognormal delays with a spike in each tenth, in order (common practice,
 * no source, for Wi-Fi). The receiver delay then contains the network's least delay, and its interval holds that truth.
 */
import { expect, test } from "vitest";
import { alignRecording } from "../../../src/shared/align/align-recording.ts";
import { calibrate } from "../../../src/shared/align/calibrate.ts";
import { nominalCalibration } from "../../../src/shared/align/nominal-calibration.ts";
import { gentleDrive, random, SET_UP } from "./gentle-drive.ts";

const LEAST_NS = 4e6;

test("an uneven network moves the receiver delay by its least delay alone, and the interval holds it", () => {
  let [inside, drives] = [0, 0];
  for (let seed = 0; seed < 12; seed++) {
    const { tracks, truth } = gentleDrive({ seed: 900 + seed, seconds: 122, rateHz: 10, undriven: true, jitter: "small", truth: {} });
    const { uniform, normal } = random(seed + 1);
    let latestNs = 0;
    const arrivalNs = tracks.epochs.arrivalNs.map((ns) => {
      const spikeNs = uniform() < 0.1 ? uniform() * 100e6 : 0;
      latestNs = Math.max(latestNs, ns + LEAST_NS + 10e6 * Math.exp(normal()) + spikeNs);
      return latestNs;
    });
    const { gnssDelayS } = calibrate(alignRecording({ ...tracks, epochs: { ...tracks.epochs, arrivalNs } }, SET_UP), SET_UP, null);
    expect(gnssDelayS.from).toBe("calibrated");
    drives += 1;
    // The least of lognormal delays in two minutes of 10 Hz: median of e^z over 1,200 draws, z about -3.2.
    const least = LEAST_NS / 1e9 + 0.01 * Math.exp(-3.2);
    if (Math.abs(gnssDelayS.value - truth.delayS - least) <= gnssDelayS.plusMinus95) inside += 1;
  }
  expect(inside).toBeGreaterThanOrEqual(drives - 1);
});

test("before it is calibrated, a network's delay is less known than a port's, and it says why", () => {
  const over = (gnss: object) => nominalCalibration({ ...SET_UP, sources: { gnss } } as typeof SET_UP).gnssDelayS;
  const port = over({ port: "/dev/a", baud: 9600 });
  const network = over({ tcp: "192.168.1.5:10110" });
  expect(network.plusMinus95).toBeGreaterThan(2 * port.plusMinus95);
  expect(network.why).toMatch(/over a network/);
  expect(over({ udp: 10110 })).toEqual(network);
});
