/**
 * Derives a stored recording from its journal alone. Depends only on journal, set-up and calibration; throws BookError on a damaged journal
 * and SetUpError on a set-up that cannot be used.
 */
import type { AlignedRoles } from "../../../shared/align/aligned-recording.ts";
import type { Calibration } from "../../../shared/align/calibration.ts";
import { withoutByteTime } from "../../../shared/pipeline/byte-time.ts";
import { deriveRecording, type DeriveOptions, fitRecording } from "../../../shared/pipeline/derive-recording.ts";
import { ALONE, type LaunchTeam } from "../../../shared/pipeline/launch-team.ts";
import type { WiringFault } from "../../../shared/pipeline/wiring-faults.ts";
import type { GateResult } from "../../../shared/launch/gate-result.ts";
import type { Gate } from "../../../shared/launch/gate.ts";
import type { Mark } from "../../../shared/launch/mark.ts";
import type { RollingPull } from "../../../shared/launch/rolling-pulls.ts";
import type { DerivedRun, Flag, RunSamples } from "../../../shared/run/run.ts";
import { NS_PER_S } from "../../../shared/kernel/units.ts";
import { type LIST_ROLES, SINGLE_ROLES } from "../../../shared/setup/roles.ts";
import type { Book, Recording, RecordingState, RunWrite } from "../../ports/book.ts";
import { printOf } from "../library/run-print.ts";
import { packetsOf, shiftOf } from "../library/recorded-packets.ts";
import { readSetUp } from "../basics/read-set-up.ts";

/** A run's window that ends this close to the recording's end was cut by it: normally 3 s after the run are kept. */
const CUT_S = 0.05;

/** A derived run with the book's additions; it has no id yet. */
type NewRun = Omit<RunWrite, "recording" | "calibration" | "final">;

/** The same while others are still derived: its samples lie in a temporary file, so that a day's do not fill the memory. */
export interface FreshRun extends Omit<NewRun, "samples"> {
  /** Takes them from the file: once. */
  readonly takeSamples: () => RunSamples;
}

export interface Derived {
  readonly calibration: Calibration;
  readonly runs: readonly FreshRun[];
  readonly wiring: readonly WiringFault[];
  readonly rolling: readonly RollingPull[];
}

/** Unit of every role in a run's samples, lists as "undrivenWheelSpeeds.0". */
export function roleUnitsOf(roles: readonly string[], aligned: AlignedRoles): Record<string, string> {
  const unitOf = (name: string): string => {
    const [list, index] = name.split(".") as [string, string | undefined];
    if (index === undefined) return SINGLE_ROLES[name as keyof typeof SINGLE_ROLES] ?? "";
    return aligned[list as (typeof LIST_ROLES)[number]]?.[Number(index)]?.unit ?? "";
  };
  return Object.fromEntries(roles.map((name) => [name, unitOf(name)]));
}

/** The group's label that a person had set by then; else the one from the switch on the bus. */
function labelOf({ movementS, measured }: DerivedRun, marks: readonly Mark[]): string {
  const named = marks.findLast((mark) => mark.kind === "label" && mark.tS <= movementS);
  if (named !== undefined && named.text !== "") return named.text;
  const enabled = measured.tractionControlEnabled;
  if (enabled === null || enabled === undefined) return "";
  return enabled > 0 ? "traction control on" : "traction control off";
}

function interruption(run: DerivedRun, endS: number, state: RecordingState): Flag[] {
  if (run.windowToS < endS - CUT_S || run.flags.some((flag) => flag.flag === "interrupted")) return [];
  const why =
    state === "interrupted"
      ? "The recording broke off in this run: what arrived after that is not known."
      : "The recording was closed before this run's last seconds were in.";
  return [{ flag: "interrupted", why }];
}

export function freshRun(
  run: DerivedRun,
  marks: readonly Mark[],
  roleUnits: Readonly<Record<string, string>>,
  more: readonly Flag[],
): NewRun {
  const { samples, ...figures } = run;
  return {
    uid: run.uid,
    label: labelOf(run, marks),
    figures: { ...figures, flags: [...figures.flags, ...more] },
    samples,
    roleUnits,
    print: printOf(samples, run.movementS, run.windowToS),
  };
}

export interface DeriveRequest {
  /** Null fits one. */
  readonly calibration: Calibration | null;
  readonly gates: readonly Gate[];
  /** Who times the launches; absent: this thread. */
  readonly team?: LaunchTeam | undefined;
}

function optionsOf(book: Book, recording: Recording, { calibration, gates, team = ALONE }: DeriveRequest) {
  const { stored: _stored, ...ready } = readSetUp(recording.setUp, `Set-up of recording ${recording.id}`);
  const { id, canFormat, state, origin } = recording;
  const endNs = (recording.endNs ?? 0) + Math.round(Math.abs(shiftOf(book, id)) * NS_PER_S);
  const marks = book.marks(id);
  return {
    ...ready,
    setUp: origin === "live" ? ready.setUp : withoutByteTime(ready.setUp),
    canFormat,
    packets: packetsOf(book, id),
    endNs,
    calibration,
    marks,
    gaps: book.gaps(id),
    gates,
    team,
    keep(run, { roles }): FreshRun {
      const units = roleUnitsOf(Object.keys(run.samples.roles), roles);
      const { samples, ...fresh } = freshRun(run, marks, units, interruption(run, endNs / 1e9, state));
      return { ...fresh, takeSamples: book.bufferSamples({ samples, roleUnits: units }) };
    },
  } satisfies DeriveOptions<FreshRun>;
}

/** In steps that give the share done. */
export function* deriveSteps(book: Book, recording: Recording, request: DeriveRequest): Generator<number, Derived, undefined> {
  const derived = yield* deriveRecording(optionsOf(book, recording, request));
  return { ...derived, runs: derived.runs.map((run) => withWiring(run, derived.wiring)) };
}

/** The calibration that its set-up gives now; in steps that give the share done. */
export const fitSteps = (book: Book, recording: Recording): Generator<number, Calibration, undefined> =>
  fitRecording(optionsOf(book, recording, { calibration: null, gates: [] }));

const wrongTime = ({ gate, start }: GateResult, why: string): GateResult => ({
  gate,
  start,
  seconds: null,
  plusMinus95: null,
  atS: null,
  why,
});

/** A wrong wiring flags every run of the recording; a time that rests on one is known to be wrong, and is not kept. */
function withWiring(run: FreshRun, wiring: readonly WiringFault[]): FreshRun {
  if (wiring.length === 0) return run;
  const told = wiring.map(({ what, seen }) => `${what}: ${seen}`).join("; ");
  const spoiler = wiring.find(({ spoils }) => spoils);
  const gates =
    spoiler === undefined
      ? run.figures.gates
      : run.figures.gates.map((gate) => wrongTime(gate, `wrong wiring: ${spoiler.what}; ${spoiler.remedy}`));
  const flag: Flag = { flag: "wiring", why: `Wrong wiring: ${told}.` };
  return { ...run, figures: { ...run.figures, gates, flags: [...run.figures.flags, flag] } };
}
