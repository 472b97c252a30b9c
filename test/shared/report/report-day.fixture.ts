/** The invented day as a report: six and six in two directions. Prints are made from a few humps. */
import { compare } from "../../../src/shared/judge/compare.ts";
import type { ReportInput, ReportRun } from "../../../src/shared/report/report-input.ts";
import { advise } from "../../../src/shared/tune/advise.ts";
import { groupControl } from "../../../src/shared/tune/group-control.ts";
import { groupLosses } from "../../../src/shared/tune/group-losses.ts";
import { knownCar, knownCurve, knownRun, SIXTY_MPS } from "../tune/known-launch.fixture.ts";
import { judgedRun } from "../judge/judged-run.fixture.ts";

const ORDER = [0, 1, 1, 0, 1, 0, 0, 1, 0, 1, 1, 0];
const SECONDS = [5.0, 4.35, 4.4, 5.05, 4.46, 5.08, 5.02, 4.42, 5.11, 4.48, 4.51, 5.4];
const LABELS = ["off", "on"];

function printOf(group: number, seconds: number): ReportRun["print"] {
  const steps = Math.round((seconds + 0.3) / 0.05);
  const hump = (t: number, at: number, width: number) => Math.exp(-(((t - at) / width) ** 2));
  const at = (i: number) => i * 0.05;
  const slipKmh = Array.from({ length: steps }, (_, i) =>
    group === 0 ? 21 * hump(at(i), 0.7, 0.3) + 17 * hump(at(i), 2, 0.4) + 4 : 9 * hump(at(i), 0.4, 0.2) + 4,
  );
  const heldNm = Array.from({ length: steps }, (_, i) => (group === 0 ? 0 : 70 * hump(at(i), 0.5, 0.2) + 30 * hump(at(i), 2.4, 0.6)));
  return { slipKmh, heldNm, intervening: heldNm.map((nm) => nm > 5) };
}

/** Two launches held at 6 % slip where the tyre's best is 18 %, by the product's own tuning code. */
function tuneOfDay(): ReportInput["tune"] {
  const [car, curve] = [knownCar(), knownCurve()];
  const held = [{ toMps: SIXTY_MPS, mps2: 4, askedNm: 400, deliveredNm: 240, slip: 0.06 }];
  const runs = [knownRun(2, held, [], { courseDeg: 74 }), knownRun(3, held, [], { courseDeg: 254 })];
  const gate = { kind: "standing", name: "0-60 mph", toMps: SIXTY_MPS } as const;
  const losses = groupLosses({ label: "on", runs, gate, start: "movement", car, curves: [curve] });
  const found = { ...losses, control: groupControl(runs, car, null) };
  const asked = { car, grip: [curve], groups: [{ found, runs }], gate: gate.name, start: "movement" } as const;
  const told = advise({
    ...asked,
    predict: () => null,
    leftOut: [{ run: 12, kind: "torque limited", why: "Derated." }],
  });
  return { ...asked, groups: [found], ...told };
}

export function reportDay(): ReportInput {
  const judged = ORDER.map((group, i) => judgedRun(i + 1, LABELS[group] as string, SECONDS[i]));
  const plan = {
    design: { groups: LABELS, runsPerGroup: 6, directions: 2, orders: "balanced" },
    order: ORDER,
    slots: judged.map((run) => run.id),
    seed: 7,
  } as const;
  const runs = judged.map(
    (run, i): ReportRun => ({
      id: run.id,
      moments: [],
      uid: `uid${run.id}`,
      final: true,
      label: run.label,
      startedAt: `2031-05-04T10:${String(2 + 4 * i).padStart(2, "0")}:11.482Z`,
      courseDeg: i % 2 === 0 ? 74 : 254,
      use: true,
      note: "",
      flags: run.id === 12 ? [{ flag: "wheelspin", why: "slip over 10 % for 3.3 s" }] : [],
      conditions: { surface: "dry" },
      measured: { stateOfCharge: 84 - i, batteryTemperature: 29 },
      gates: [
        { gate: "0-60 mph", start: "movement", seconds: run.seconds, plusMinus95: 0.012, atS: 0 },
        { gate: "60 ft", start: "movement", seconds: 2.69, plusMinus95: 0.02, atS: 0, exitSpeedKmh: 63.1 },
        { gate: "0-200 km/h", start: "movement", seconds: null, plusMinus95: null, atS: null, why: "lifted at 104 km/h" },
      ],
      slip: { peakSlipSpeedKmh: 20.2, peakSlipRatio: 0.61, secondsAbove10Percent: 1.9 },
      print: printOf(ORDER[i], run.seconds as number),
      calibrationId: 3,
    }),
  );
  return {
    car: "Odrel",
    day: "4 May 2031",
    simulated: true,
    softwareVersion: "0.1.0",
    writtenAt: "2031-05-04T12:00:00Z",
    wiring: [],
    runs,
    groups: LABELS,
    shown: null,
    tunedNewest: null,
    response: { gate: "0-60 mph", response: null, why: "no setting differs between the runs", next: null, kept: [] },
    only: null,
    comparisons: [compare({ gate: "0-60 mph", start: "movement", groups: LABELS, runs: judged, plan })],
    plan: {
      orders: "balanced",
      directions: 2,
      runsPerGroup: 6,
      arrangements: 380,
      seed: 7,
      slots: ORDER.map((g, i) => ({ group: LABELS[g] as string, direction: i % 2 === 0 ? "outbound" : "back" })),
      length: { neededM: 203, givenM: 900, gate: "0-60 mph", wayM: 62, stopM: 73, assumed: false },
      runOffNote: "grass, 200 m",
    },
    tune: tuneOfDay(),
    spin: null,
    calibrations: [
      {
        id: 3,
        rollingRadiusM: { value: 0.324, plusMinus95: 0.0004, from: "calibrated" },
        gnssDelayS: { value: 0.061, plusMinus95: 0.004, from: "calibrated" },
        notes: [],
      },
    ],
    changes: [{ at: "2031-05-04T11:00:00Z", run: 12, what: "label", before: "", after: "off" }],
    setUp: '{"car": {"name": "Odrel"}}',
  };
}
