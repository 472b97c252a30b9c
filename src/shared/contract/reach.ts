/**
 * Which requests a page on the local network may make: those that only show. Every request says so here; a new one does not compile
 * before. Nor does one that edits, arms or aborts (an answer that can be undone, or none at all) and says that it only shows.
 */
import type { Answers, RequestName } from "./contract.ts";

/** Answers of requests that change something: an edit's way back, or nothing to read. */
type Changes = { readonly undo: unknown } | Record<string, never>;

type ReachOf<N extends RequestName> = [Extract<Answers[N], Changes>] extends [never] ? "shows" | "laptop" : "laptop";

/** "shows": reads what the screens show. "laptop": everything else, and what the screens of a looker do not need. */
export type Reach = { readonly [N in RequestName]: ReachOf<N> };

export const REACH = {
  "book.open": "shows",
  "book.backUp": "laptop",
  "runs.list": "shows",
  // With the log, and with positions where they are asked for.
  "happened.read": "laptop",
  "run.show": "shows",
  "run.columns": "shows",
  "run.overrule": "laptop",
  "runs.file": "laptop",
  "runs.edit": "laptop",
  // For the box in which they are edited.
  "runs.conditions": "laptop",
  "runs.chosen": "shows",
  "before.read": "shows",
  "before.overrule": "laptop",
  "before.antenna": "laptop",
  "drive.arm": "laptop",
  "drive.abort": "laptop",
  "drive.label": "laptop",
  "drive.mark": "laptop",
  "compare.read": "shows",
  "response.read": "shows",
  "tune.read": "shows",
  "tune.run": "shows",
  "tune.spin": "shows",
  "plan.read": "shows",
  // Stored nowhere, but a long calculation that only who plans needs.
  "plan.choices": "laptop",
  "plan.draw": "laptop",
  "plan.use": "laptop",
  "plan.current": "laptop",
  "plan.again": "laptop",
  "report.html": "shows",
  "ports.list": "laptop",
  // The whole file, with what no screen shows.
  "setup.read": "laptop",
  "work.cancel": "laptop",
  "wiring.read": "shows",
  // For choosing a signal.
  "wiring.search": "laptop",
  "wiring.choose": "laptop",
  "wiring.file": "laptop",
  "wiring.ports": "laptop",
  "wiring.source": "laptop",
  "wiring.other": "laptop",
  "wiring.swap": "laptop",
  "wiring.bitrate": "laptop",
  "wiring.check": "laptop",
  "wiring.own": "laptop",
  "setup.restore": "laptop",
  "car.read": "shows",
  "car.save": "laptop",
  "car.calibrate": "laptop",
  "car.tyres": "laptop",
  "gates.add": "laptop",
  "gates.own": "laptop",
  "network.read": "laptop",
  "network.on": "laptop",
  "network.code": "laptop",
  "network.off": "laptop",
} as const satisfies Reach;

/** What a screen that only shows is told when it asks for more. */
export const ONLY_SHOWS = "This screen only shows: arm, abort, label and edit at the laptop";

export const mayShow = (name: RequestName): boolean => REACH[name] === "shows";
