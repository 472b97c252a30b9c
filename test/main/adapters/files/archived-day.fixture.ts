/** Invented runs for the archive: figures and short sample tables, all from a seed. */
import type { ArchiveEntry } from "../../../../src/main/ports/archive.ts";
import { createSeededRandom } from "../../../../src/shared/judge/seeded-random.ts";

const START_MS = 1_935_655_331_482;
const SURFACES = ["dry", "damp", "wet"];

/** `count` runs of three cars over many days, each with `rows` samples. */
export function* archivedRuns(count: number, rows: number): Generator<ArchiveEntry> {
  const random = createSeededRandom(5000);
  for (let i = 0; i < count; i += 1) {
    const surface = SURFACES[random.below(3)] as string;
    const seconds = 4.2 + 0.4 * SURFACES.indexOf(surface) + 0.1 * random.normal();
    const timeS = Float64Array.from({ length: rows }, (_, row) => -2 + row / 100);
    const speed = timeS.map((t) => Math.max(0, t) * (96.56064 / seconds));
    yield {
      run: {
        uid: `run${String(i).padStart(6, "0")}`,
        car: ["Odrel", "Odrel two", "Odrel, the third"][i % 3] as string,
        startedAtUtcMs: i % 97 === 0 ? null : START_MS + Math.floor(i / 12) * 86_400_000 + (i % 12) * 600_000,
        label: i % 2 === 0 ? "off" : "on",
        use: i % 50 !== 0,
        note: i % 50 === 0 ? 'passenger said "stop"' : "",
        final: true,
        courseDeg: i % 2 === 0 ? 74 : 254,
        altitudeChangeM: null,
        gates: [{ gate: "0-60 mph", start: "movement", seconds: i % 41 === 0 ? null : seconds, plusMinus95: 0.012, atS: null }],
        slip: { peakSlipSpeedKmh: 20, peakSlipRatio: 0.4, secondsAbove10Percent: 1.2 },
        flags: i % 10 === 0 ? [{ flag: "wheelspin", why: "slip over 10 % for 1.2 s" }] : [],
        measured: { stateOfCharge: 80 - (i % 12), batteryTemperature: null },
        conditions: { surface, "slip target": `${4 + 2 * (i % 4)} %` },
        rollingRadiusM: { value: 0.324, plusMinus95: 0.0004, from: "calibrated" },
        gnssDelayS: null,
        tune: {
          ...{ gate: "0-60 mph", bestSlip: 0.115, peakFriction: 1.15 - 0.2 * SURFACES.indexOf(surface), ownGrip: 1.01 },
          ...(i % 5 === 0
            ? { quickestS: null, losses: null, why: "the peak was not reached" }
            : { quickestS: 3.5, losses: { spin: 0.3, heldBack: 0.2, askedLate: 0.1, rest: seconds - 4.1 }, why: null }),
        },
        softwareVersion: "0.1.0",
      },
      table: {
        names: ["timeS", "groundSpeedKmh", "wheelSpeedKmh", "slipRatio", "torqueRequestNm", "undrivenWheelSpeeds.0"],
        units: ["s", "km/h", "km/h", "", "Nm", "m/s"],
        columns: [
          timeS,
          speed,
          speed.map((v) => v * 1.1),
          speed.map((v) => (v < 10 ? Number.NaN : 0.1)),
          timeS.map((t) => (t < 0 ? 0 : 310)),
          speed.map((v) => v / 3.6),
        ],
      },
    };
  }
}
