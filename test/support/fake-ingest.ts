/** A stand-in measuring process for the hosts' tests and for looking at screens: speaks core-messages, plays one smooth made-up launch over and over. */
import type { BeforeRow, LaunchState, LiveEvent, RunEdit, RunRow, RunView } from "../../src/shared/contract/contract.ts";
import type { FromCore, ToCore } from "../../src/main/hosts/core-messages.ts";

const say = (message: FromCore) => process.send?.(message);
const bump = (t: number, at: number, width: number, height: number) => height * Math.exp(-(((t - at) / width) ** 2));

/** The made-up launch: speeds m/s and torques Nm at t seconds after movement. */
function launchAt(t: number, controlled: boolean) {
  const ground = t <= 0 ? 0 : (controlled ? 6.6 : 5.7) * t - 0.12 * t * t;
  const slip =
    t <= 0 ? 0 : controlled ? bump(t, 0.4, 0.2, 5) + bump(t, 1.2, 0.15, 4) + 0.9 : bump(t, 0.6, 0.5, 9) + bump(t, 2, 0.6, 7) + 1.4;
  const held = controlled && t > 0 ? bump(t, 0.5, 0.2, 110) + bump(t, 1.3, 0.15, 60) + bump(t, 2.2, 0.5, 50) : 0;
  const asked = t <= -0.1 ? 0 : 395 * Math.min(1, (t + 0.1) / 0.15);
  return { ground, slip, held: Math.min(held, asked), asked, intervening: held > 15 };
}

function makeRun(id: number): RunRow {
  const controlled = [2, 3, 5, 8, 10, 11].includes(id);
  const times = Array.from({ length: 110 }, (_, i) => launchAt(i * 0.05, controlled));
  return {
    id,
    uid: `fake-${id}`,
    final: true,
    label: controlled ? "traction control on" : "traction control off",
    startedAt: `2031-05-04T10:${String(id * 4).padStart(2, "0")}:11.482Z`,
    courseDeg: id % 2 === 0 ? 254 : 74,
    // A launch that is played here is stored with the time that its gates gave.
    seconds: id > 12 ? 4.42 : (controlled ? 4.35 : 5.0) + (id % 4) * 0.04,
    plusMinus95: 0.012,
    flags: id === 12 ? [{ flag: "wheelspin", why: "Slip over 30 % for 1.2 s" }] : [],
    use: true,
    note: "",
    print: {
      slipKmh: times.map((at) => at.slip * 3.6),
      heldNm: times.map((at) => at.held),
      intervening: times.map((at) => at.intervening),
    },
  };
}

let runs = Array.from({ length: 12 }, (_, i) => makeRun(i + 1));
let state: LaunchState = "idle";
let label = "traction control on";
/** `--planned`: a plan of twelve is in force, and `again` says whose slots are to be driven once more. */
const planned = process.argv.includes("--planned");
const again = new Set<number>();
/** Seconds in the state. Grows with what was told of it: on a busy machine no state passes that nobody was told of. */
let inState = 0;
/** By the note "stay": each state stands until the note "go on". */
let stays = false;
const enter = (next: LaunchState) => {
  state = next;
  inState = 0;
};
const TICK_MS = 33;
/** The next state, and after how many seconds. */
const AFTER: Partial<Record<LaunchState, readonly [LaunchState, number]>> = {
  armed: ["standing", 1],
  standing: ["launched", 2],
  launched: ["done", 5.5],
};
function goOn(): void {
  const next = AFTER[state]?.[0];
  if (next === undefined) return;
  if (next === "done") {
    runs = [...runs, makeRun(runs.length + 1)];
    say({ kind: "event", event: { event: "runStored", run: runs[runs.length - 1] as RunRow } });
  }
  enter(next);
}

function view(row: RunRow): RunView {
  const gate = (name: string, factor: number) => ({
    gate: name,
    start: "movement" as const,
    seconds: (row.seconds ?? 5) * factor,
    plusMinus95: 0.012,
    atS: 10,
  });
  return {
    run: { ...row, conditions: {}, measured: { stateOfCharge: 71 }, windowFromS: 0, windowToS: 13 },
    gates: [
      gate("0-30 mph", 0.46),
      gate("60 ft", 0.54),
      gate("0-60 mph", 1),
      gate("0-100 km/h", 1.05),
      { ...gate("0-100 mph", 1), seconds: null, plusMinus95: null, why: "not reached: 108 km/h at most" },
    ],
    moments: [],
    slip: { peakSlipSpeedKmh: 20.2, peakSlipRatio: 0.61, secondsAbove10Percent: 1.9 },
    calibration: {
      id: 1,
      rollingRadiusM: { value: 0.324, plusMinus95: 0.0004, from: "calibrated" },
      gnssDelayS: { value: 0.061, plusMinus95: 0.004, from: "calibrated" },
      notes: [],
    },
  };
}

function columns(row: RunRow) {
  const rows = Array.from({ length: 1300 }, (_, i) => ({
    t: -5 + i / 100,
    at: launchAt(Math.min(-5 + i / 100, 6), row.label.endsWith("on")),
  }));
  const column = (pick: (row: (typeof rows)[number]) => number) => Float32Array.from(rows, pick);
  return {
    names: [
      "timeS",
      "groundSpeedKmh",
      "wheelSpeedKmh",
      "slipSpeedKmh",
      "slipRatio",
      "torqueRequestNm",
      "torqueDeliveredNm",
      "pedalPercent",
      "distanceM",
      "accelerationMps2",
      "tractionControlActive",
    ],
    units: ["s", "km/h", "km/h", "km/h", "", "Nm", "Nm", "%", "m", "m/s2", ""],
    columns: [
      column(({ t }) => t),
      column(({ at }) => at.ground * 3.6),
      column(({ at }) => (at.ground + at.slip) * 3.6),
      column(({ at }) => at.slip * 3.6),
      column(({ at }) => (at.ground > 2.78 ? at.slip / at.ground : Number.NaN)),
      column(({ at }) => at.asked),
      column(({ at }) => at.asked - at.held),
      column(({ at }) => (at.asked > 0 ? 100 : 0)),
      column(({ t }) => (t < 0 ? 0 : 3.2 * t * t)),
      column(({ t }) => (t < 0 ? 0 : 6 - 0.3 * t)),
      column(({ at }) => (at.intervening ? 1 : 0)),
    ],
  };
}

let overruled: string | null = null;
let fixed = false;

function beforeRows(): BeforeRow[] {
  const seen = { state: "green", remedy: "", overruled: null } as const;
  return [
    { ...seen, key: "fix", name: "Fix and rate", words: "3D fix, 10 Hz, 14 satellites, HDOP 0.8" },
    {
      key: "battery",
      name: "Laptop battery",
      state: "wrong",
      words: "31 %, on battery",
      remedy: "plug it in, or charge it over 50 %",
      overruled,
    },
    fixed
      ? { ...seen, key: "antenna", name: "Antenna fixed", words: "seen by a person in this session" }
      : {
          key: "antenna",
          name: "Antenna fixed",
          state: "open",
          words: "nobody looked yet",
          remedy: "see that it is fixed; then tick it",
          overruled: null,
        },
  ];
}

function answer(name: string, argument: Record<string, unknown>): unknown {
  const row = runs.find((run) => run.id === argument.run);
  switch (name) {
    case "book.open":
      return { car: "Odrel", bookFile: "/tmp/fake.gripbook", simulated: true, runs, groups: [...new Set(runs.map((run) => run.label))] };
    case "book.backUp":
      return { file: "/tmp/fake-copy.gripbook" };
    case "tune.run":
      return {
        run: argument.run,
        gate: "0-60 mph",
        losses: null,
        why: "made up",
        grip: null,
        interventions: [],
        controlWhy: [],
        movementS: null,
      };
    case "runs.list":
      return runs;
    case "drive.arm":
      label = typeof argument.label === "string" ? argument.label : label;
      enter("armed");
      return {};
    case "drive.abort":
      enter(state === "launched" ? "aborted" : "idle");
      return {};
    case "drive.label":
      label = String(argument.label);
      return {};
    case "drive.mark":
      if (argument.note === "crash") process.exit(7);
      if (argument.note === "stay") stays = true;
      if (argument.note === "go on") goOn();
      return {};
    case "plan.again":
      if (argument.again === true) again.add(Number(argument.run));
      else again.delete(Number(argument.run));
      return { undo: { name, argument: { run: argument.run, again: argument.again !== true } } };
    case "before.overrule":
      overruled = typeof argument.note === "string" ? argument.note : null;
      return beforeRows();
    case "before.antenna":
      fixed = argument.fixed === true;
      return beforeRows();
    case "before.read":
      return beforeRows();
    case "ports.list":
      return [];
    case "setup.read":
      return { file: null, setUp: {} };
    default:
      break;
  }
  if (name === "runs.edit") return editRuns(argument.edits as RunEdit[]);
  if (name === "runs.conditions") return { runs: (argument.runs as number[]).map(() => ({})), keys: [] };
  if (row === undefined) throw new Error(`Run ${argument.run} is not in this book`);
  if (name === "run.show") return view(row);
  if (name === "run.columns") return columns(row);
  return { undo: { name, argument } };
}

/** Labels and reviews alone: the made-up runs have no conditions. */
function editRuns(edits: readonly RunEdit[]) {
  const back = edits.map(({ run, label: text, review }): RunEdit => {
    const before = runs.find(({ id }) => id === run);
    if (before === undefined) throw new Error(`Run ${run} is not in this book`);
    const row = { ...before, ...(text === undefined ? {} : { label: text }), ...review };
    runs = runs.map((each) => (each.id === run ? row : each));
    say({ kind: "event", event: { event: "runStored", run: row } });
    return {
      run,
      ...(text === undefined ? {} : { label: before.label }),
      ...(review === undefined ? {} : { review: { use: before.use, note: before.note } }),
    };
  });
  return { undo: { name: "runs.edit", argument: { edits: back.reverse() } } };
}

const GATES = [
  { gate: "0-30 mph", seconds: 2.07 },
  { gate: "60 ft", seconds: 2.38 },
  { gate: "0-60 mph", seconds: 4.42 },
];

function planNow(): NonNullable<LiveEvent["plan"]> {
  return {
    done: runs.length - 12 - again.size,
    total: 12,
    group: "traction control on",
    direction: "eastbound",
    ready: true,
    words: "next: traction control on, eastbound",
  };
}

function live(): LiveEvent {
  inState += TICK_MS / 1000;
  if (!stays && inState > (AFTER[state]?.[1] ?? Number.POSITIVE_INFINITY)) goOn();
  const launchS = state === "launched" ? inState : null;
  const at = launchAt(launchS ?? -1, label.endsWith("on"));
  const passed = GATES.filter((gate) => launchS !== null && launchS >= gate.seconds);
  return {
    event: "live",
    tS: performance.now() / 1000,
    state,
    stateSinceS: inState,
    nextLabel: label,
    runsStored: runs.length,
    groundSpeedMps: at.ground,
    wheelSpeedMps: at.ground + at.slip,
    slipSpeedMps: at.slip,
    slipRatio: at.ground > 2.78 ? at.slip / at.ground : null,
    greatestSlipSpeedMps: at.slip,
    greatestHeldNm: at.held,
    torqueRequestNm: at.asked,
    torqueDeliveredNm: at.asked - at.held,
    pedalPercent: at.asked > 0 ? 100 : 0,
    stateOfCharge: 71,
    tractionControlEnabled: label.endsWith("on"),
    intervening: at.intervening,
    gnss: { state: "fresh", words: "10 Hz, 3D fix, 14 satellites" },
    can: { state: "fresh", words: "1,184 frames/s" },
    ...(planned ? { plan: planNow() } : {}),
    launchS,
    gates: passed.map((gate) => ({ ...gate, plusMinus95: null, settled: false })),
    nextGate: GATES[passed.length]?.gate ?? null,
    ageMs: 8,
  };
}

process.on("message", (message: ToCore) => {
  if (message.kind === "close") process.exit(0);
  try {
    say({ kind: "answer", id: message.id, ok: true, answer: answer(message.name, message.argument as Record<string, unknown>) });
  } catch (error) {
    say({ kind: "answer", id: message.id, ok: false, error: (error as Error).message });
  }
});
setInterval(() => say({ kind: "event", event: live() }), TICK_MS);
say({ kind: "ready" });
