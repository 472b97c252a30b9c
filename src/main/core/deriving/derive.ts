/** Derives a stored recording from its journal alone. Pure in (journal, set-up, calibration); throws BookError on a spoiled journal and SetUpError on a set-up that cannot be used. */
import type { AlignedRoles } from "../../../shared/align/aligned-recording.ts";
import type { Calibration } from "../../../shared/align/calibration.ts";
import { withoutByteTime } from "../../../shared/pipeline/byte-time.ts";
import { createDerivation } from "../../../shared/pipeline/derive-recording.ts";
import type { CanFormat, Packet } from "../../../shared/pipeline/packet.ts";
import type { Gate } from "../../../shared/launch/gate.ts";
import type { Mark } from "../../../shared/launch/mark.ts";
import type { DerivedRun, Flag } from "../../../shared/run/run.ts";
import { type LIST_ROLES, SINGLE_ROLES } from "../../../shared/setup/roles.ts";
import type { Book, Gap, Recording, RecordingState, RunWrite } from "../../ports/book.ts";
import { printOf } from "../library/run-print.ts";
import { type ReadySetUp, readSetUp } from "../basics/read-set-up.ts";

/** A window that ends this close to the recording's end was cut by it: 3 s after the end of a run are kept. */
const CUT_S = 0.05;

interface DeriveRequest {
  readonly ready: ReadySetUp;
  readonly canFormat: CanFormat;
  readonly packets: Iterable<Packet>;
  readonly endNs: number;
  /** Null fits one to the whole recording. */
  readonly calibration: Calibration | null;
  readonly marks: readonly Mark[];
  readonly gaps: readonly Gap[];
  readonly gates: readonly Gate[];
  readonly state: RecordingState;
}

/** A derived run with what the book adds; ids are not known yet. */
export type FreshRun = Omit<RunWrite, "recording" | "calibration" | "final">;

export interface Derived {
  readonly calibration: Calibration;
  readonly runs: readonly FreshRun[];
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

/** What a person called the group by then; else what the switch on the bus says. */
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
): FreshRun {
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

/** Packets between two steps: a few milliseconds of decoding. */
const PACKETS_A_STEP = 4096;
/** Share of reading and decoding in the whole, from a day of twelve launches. */
const DECODED = 0.4;

function* derive({
  ready,
  canFormat,
  packets,
  endNs,
  calibration,
  marks,
  gaps,
  gates,
  state,
}: DeriveRequest): Generator<number, Derived, undefined> {
  const derivation = createDerivation({ setUp: ready.setUp, databases: ready.databases, canFormat, gates });
  let count = 0;
  for (const packet of packets) {
    derivation.push(packet);
    count += 1;
    if (count % PACKETS_A_STEP === 0) yield DECODED * Math.min(1, packet.arrivalNs / Math.max(1, endNs));
  }
  const finishing = derivation.finishSteps({ endNs, calibration, marks, gaps });
  let step = finishing.next();
  for (; step.done !== true; step = finishing.next()) yield DECODED + (1 - DECODED) * step.value;
  const result = step.value;
  const endS = endNs / 1e9;
  return {
    calibration: result.calibration,
    runs: result.runs.map((run) =>
      freshRun(run, marks, roleUnitsOf(Object.keys(run.samples.roles), result.recording.roles), interruption(run, endS, state)),
    ),
  };
}

/** The same from the book, in steps that give the share done. */
export function deriveSteps(
  book: Book,
  recording: Recording,
  calibration: Calibration | null,
  gates: readonly Gate[],
): Generator<number, Derived, undefined> {
  const ready = readSetUp(recording.setUp, `Set-up of recording ${recording.id}`);
  return derive({
    ready: recording.origin === "live" ? ready : { ...ready, setUp: withoutByteTime(ready.setUp) },
    canFormat: recording.canFormat,
    packets: book.packets(recording.id),
    endNs: recording.endNs ?? 0,
    calibration,
    marks: book.marks(recording.id),
    gaps: book.gaps(recording.id),
    gates,
    state: recording.state,
  });
}
