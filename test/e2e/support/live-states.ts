/** The passenger's states as live events, for a page that is staged: each stands until the next is told. A launch is told as it grew, so that its print is there. */
import type { CoreEvent, LiveEvent, RunRow } from "../../../src/shared/contract/contract.ts";
import { REST } from "../../support/live-event.ts";

/** A slip of 104 km/h, far over the day's scale, in the first half second; torque held back later. */
function at(launchS: number, paceMps2: number): Partial<LiveEvent> {
  const ground = paceMps2 * launchS;
  const slip = 29 * Math.exp(-(((launchS - 0.5) / 0.25) ** 2)) + 0.6;
  const held = 210 * Math.exp(-(((launchS - 1.6) / 0.5) ** 2));
  return {
    groundSpeedMps: ground,
    wheelSpeedMps: ground + slip,
    slipSpeedMps: slip,
    slipRatio: ground > 2.78 ? slip / ground : null,
    greatestSlipSpeedMps: slip,
    greatestHeldNm: held,
    torqueRequestNm: 412,
    torqueDeliveredNm: 412 - held,
    pedalPercent: 100,
    intervening: held > 15,
  };
}

/** The launch up to `untilS`, twenty times a second; its gates are passed as they come. */
function launch(untilS: number, slowness: number, more: Partial<LiveEvent> = {}): LiveEvent[] {
  const timed = [
    { gate: "0-30 mph", seconds: 2.07 * slowness },
    { gate: "60 ft", seconds: 2.38 * slowness },
    { gate: "0-60 mph", seconds: 4.42 * slowness },
  ];
  return Array.from({ length: Math.floor(untilS * 20) + 1 }, (_, i) => {
    const launchS = i / 20;
    const passed = timed.filter(({ seconds }) => seconds <= launchS);
    return {
      ...REST,
      ...at(launchS, 6 / slowness),
      state: "launched",
      tS: 100 + launchS,
      launchS,
      gates: passed.map((gate) => ({ ...gate, plusMinus95: null, settled: false })),
      nextGate: timed[passed.length]?.gate ?? "from 20 to 80 km/h, past the second marker board on the left",
      ...more,
    };
  });
}

const SILENT = { state: "stale", words: "silent for 14 s" } as const;
const GARBAGE = { state: "wrong", words: "garbage at this baud: try 38400" } as const;

export interface Told {
  readonly name: string;
  readonly events: readonly (CoreEvent | null)[];
  /** What must stand in the seam. */
  readonly drawn?: readonly string[];
}

/** The launch's slip goes beyond every scale: 104 km/h and what it slips anyhow. */
const PEAK = "107 km/h";

/** Every gate of the launch before turned out otherwise. */
const corrected = (own: Partial<LiveEvent>): LiveEvent => ({
  ...REST,
  ...own,
  state: "standing",
  gates: (launch(5.5, 1).at(-1)?.gates ?? []).map((gate) => ({ ...gate, seconds: gate.seconds + 0.11, settled: true })),
});

const plan = { words: "next: traction control on, eastbound", group: null, direction: "eastbound", ready: true, done: 7, total: 12 };

/** Every state of the passenger's view under one label. `run` is stored as the launch ends. */
export function statesUnder(label: string, run: RunRow): Told[] {
  const own = { nextLabel: label, plan: { ...plan, group: label } };
  const waits = { ...own.plan, ready: false, words: `next: ${label}; wait 2:10; motor under 60 °C, is 84 °C` };
  const one = (name: string, live: Partial<LiveEvent>): Told => ({ name, events: [{ ...REST, ...own, ...live }] });
  const end = (state: "done" | "armed" | "aborted"): CoreEvent => ({ ...REST, ...own, state, stateSinceS: 0.4 });
  return [
    one("before", {}),
    one("before, without a plan, another setting by the switch", { plan: null, tractionControlEnabled: false }),
    one("before, both sources lost", {
      gnss: SILENT,
      can: GARBAGE,
      groundSpeedMps: null,
      wheelSpeedMps: null,
      slipSpeedMps: null,
      torqueRequestNm: null,
      torqueDeliveredNm: null,
      stateOfCharge: null,
    }),
    one("armed", { state: "armed" }),
    one("armed, the plan waits", { state: "armed", plan: waits }),
    one("armed, rolling back", { state: "armed", groundSpeedMps: 6.9, wheelSpeedMps: 7, torqueRequestNm: -35, torqueDeliveredNm: -35 }),
    one("armed, both sources lost", {
      state: "armed",
      gnss: SILENT,
      can: SILENT,
      groundSpeedMps: null,
      wheelSpeedMps: null,
      slipSpeedMps: null,
      torqueRequestNm: null,
      torqueDeliveredNm: null,
    }),
    one("standing", { state: "standing", stateSinceS: 134 }),
    one("standing, another setting by the switch", { state: "standing", tractionControlEnabled: false }),
    { name: "launched, before the first gate", events: launch(1.2, 1, own), drawn: [PEAK] },
    { name: "launched, past 60 mph", events: launch(5.5, 1, own), drawn: [PEAK, "30 mph", "2.07", "60 ft", "2.38", "60 mph", "4.42"] },
    {
      name: "launched, slow, on a longer axis",
      events: launch(11.5, 2.5, own),
      drawn: [PEAK, "30 mph", "5.17", "60 ft", "5.95", "60 mph", "11.05"],
    },
    {
      name: "launched, the axis just doubled",
      events: launch(8.4, 1.6, own),
      drawn: [PEAK, "30 mph", "3.31", "60 ft", "3.81", "60 mph", "7.07"],
    },
    {
      name: "launched, receiver lost",
      events: [
        ...launch(2.2, 1, own),
        { ...launch(2.25, 1, own).at(-1), groundSpeedMps: null, slipSpeedMps: null, slipRatio: null, gnss: SILENT } as LiveEvent,
      ],
    },
    { name: "done", events: [...launch(5.5, 1, own), end("done"), { event: "runStored", run }, end("done")] },
    { name: "armed again, the run is news", events: [end("armed")] },
    {
      name: "standing, the run's time corrected",
      events: [
        { event: "runStored", run: { ...run, seconds: (run.seconds ?? 4.4) + 0.24 } },
        { ...REST, ...own, state: "standing" },
      ],
    },
    { name: "standing, three gates corrected", events: [corrected(own)] },
    { name: "launched, then aborted", events: [...launch(1.7, 1, own), end("aborted")] },
    { name: "nothing comes any more", events: [null] },
  ];
}

export const NOTICES: readonly CoreEvent[] = [
  { event: "notice", key: "sleep", text: "The computer slept: the recording was closed there and a new one begins. Arm again." },
  {
    event: "notice",
    key: "book-file",
    text: "The book was moved while it was recorded into: /home/tester/a-folder-of-a-long-name/test-days/2031-05-04-quarrowby.gripbook. The recording goes on whole in a new file beside it.",
  },
];
export const NO_NOTICES: readonly CoreEvent[] = NOTICES.map((event) => ({ ...event, text: null }) as CoreEvent);
