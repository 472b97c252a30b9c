/**
 * The second car's bytes through the product's own stages: decoding gives the same columns as its shortcut, and the wall clock affects no
 * result.
 */
import { describe, expect, test } from "vitest";
import { createDecodeStream } from "../../../src/shared/pipeline/decode-stream.ts";
import { checkSetUp } from "../../../src/shared/setup/check-set-up.ts";
import { parseDbc } from "../../../src/shared/dbc/dbc-file.ts";
import type { RecordingTracks, SignalTrack } from "../../../src/shared/signals/tracks.ts";
import { derive } from "../../claims/known-drive.ts";
import { filesOf } from "../../support/second-car/files.ts";
import { drawRecipe } from "../../support/second-car/recipe.ts";
import { recordDrive, tracksOf } from "../../support/second-car/second-car.ts";

const drive = recordDrive(drawRecipe(77, { surface: "dry", control: true, undriven: true, calibrationS: 60 }));
const files = filesOf(drive);
const bytes = (text: string) => new TextEncoder().encode(text);

/** Log lines `(sec.micros) text` in order of arrival, as packets; stamps count from `zeroS`. */
function decode(terminator: string, canFormat: "slcan" | "candump", zeroS: number): RecordingTracks {
  const setUp = checkSetUp(JSON.parse(files["setup.json"]));
  const stream = createDecodeStream({ setUp, databases: [parseDbc("car.dbc", files["car.dbc"])], canFormat });
  const lines = (text: string, kind: "gnss" | "can") =>
    text
      .split(/\r?\n/)
      .filter((line) => line !== "")
      .map((line) => {
        const [, seconds, micros, rest] = /^\((\d+)\.(\d{6})\) (.*)$/.exec(line) ?? [];
        return {
          kind,
          ns: ((Number(seconds) - zeroS) * 1e6 + Number(micros)) * 1e3,
          text: canFormat === "candump" && kind === "can" ? line : rest,
        };
      });
  const all = [...lines(files["receiver.nmea"], "gnss"), ...lines(files[canFormat === "slcan" ? "bus.slcan" : "bus.log"], "can")];
  all.sort((a, b) => a.ns - b.ns);
  for (const { kind, ns, text } of all)
    stream.push({ stream: kind, arrivalNs: ns, bytes: bytes(text + (kind === "gnss" ? "\r\n" : terminator)) });
  stream.flush();
  return stream.tracks(all[all.length - 1].ns, []);
}

const ZERO_S = 1935655200;

describe("bytes of the second car", () => {
  const direct = tracksOf(drive);
  const decoded = decode("\r", "slcan", ZERO_S);

  test("decode to the columns of the shortcut: names, arrivals, values", () => {
    const same = (a: SignalTrack | undefined, b: SignalTrack | undefined) => {
      expect(a?.name).toBe(b?.name);
      expect(Array.from(a?.arrivalNs ?? [])).toEqual(Array.from(b?.arrivalNs ?? []));
      expect(a?.value.length).toBeGreaterThan(1000);
      expect(a?.value.every((v, i) => Math.abs(v - (b?.value[i] ?? Number.NaN)) < 1e-9)).toBe(true);
    };
    for (const role of ["motorSpeed", "torqueDelivered", "torqueRequest", "pedal"] as const) same(decoded.roles[role], direct.roles[role]);
    direct.roles.undrivenWheelSpeeds?.forEach((track, i) => {
      same(decoded.roles.undrivenWheelSpeeds?.[i], track);
    });
    expect(Array.from(decoded.epochs.arrivalNs)).toEqual(Array.from(direct.epochs.arrivalNs));
    expect(decoded.epochs.speedMps.every((v, i) => Math.abs(v - direct.epochs.speedMps[i]) < 1e-9)).toBe(true);
  });

  test("give the truth's launch within its interval, from adapter lines and from a bus log", () => {
    const truth = drive.truth.launches[0].gates.find((g) => g.gate === "0-60 mph" && g.start === "movement")?.seconds ?? Number.NaN;
    const setUp = checkSetUp(JSON.parse(files["setup.json"]));
    for (const format of ["slcan", "candump"] as const) {
      const { runs } = derive(format === "slcan" ? decoded : decode("\n", "candump", ZERO_S), setUp);
      expect(runs.length).toBe(1);
      const claimed = runs[0].gates.find((g) => g.gate === "0-60 mph" && g.start === "movement");
      expect(Math.abs((claimed?.seconds ?? Number.NaN) - truth)).toBeLessThan(2 * (claimed?.plusMinus95 ?? 0));
      expect(claimed?.plusMinus95).toBeLessThan(0.05);
    }
  });

  test("give the same figures, but for rounding, when the receiver's date is another: no wall clock enters a result", () => {
    const setUp = checkSetUp(JSON.parse(files["setup.json"]));
    const shifted = { ...decoded, epochs: { ...decoded.epochs, utcMs: decoded.epochs.utcMs.map((ms) => ms + 86_400_000 + 3_600_000) } };
    const [a, b] = [derive(decoded, setUp), derive(shifted, setUp)];
    expect(b.calibration.gnssDelayS.value).toBeCloseTo(a.calibration.gnssDelayS.value, 8);
    expect(b.calibration.rollingRadiusM.value).toBeCloseTo(a.calibration.rollingRadiusM.value, 9);
    b.runs[0].gates.forEach((gate, i) => {
      expect(gate.seconds ?? -1).toBeCloseTo(a.runs[0].gates[i].seconds ?? -1, 7);
    });
  });
});
