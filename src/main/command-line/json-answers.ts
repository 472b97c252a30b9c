/**
 * What each command prints with --json: `sayJson` takes nothing else, and docs/schema/answers has a JSON Schema of each, written from this
 * file by `npm run schemas`. Types alone; a number that is not known is null in JSON.
 */
import type { PortView } from "../../shared/contract/contract.ts";
import type { PlanView, ResponseView } from "../../shared/contract/judge-views.ts";
import type { RunRow, RunView } from "../../shared/contract/run-views.ts";
import type { NoticeView, PredictAnswer } from "../../shared/contract/tune-views.ts";
import type { GroupComparison } from "../../shared/judge/compare.ts";
import type { Experiment } from "../../shared/judge/next-experiment.ts";
import type { Plan } from "../../shared/judge/plan.ts";
import type { Gate } from "../../shared/launch/gate.ts";
import type { WiringFault } from "../../shared/pipeline/wiring-faults.ts";
import type { TuneAnswer } from "../../shared/tune/tune-answer.ts";
import type { ArchiveSummary } from "../adapters/files/parquet-archive.ts";
import type { BookCheck } from "../core/deriving/check-book.ts";
import type { Merged } from "../core/deriving/merge.ts";
import type { Rederived } from "../core/deriving/rederive.ts";
import type { RollingPull } from "../../shared/launch/rolling-pulls.ts";
import type { RecordingWiring } from "../core/library/wiring-state.ts";

/** One run named by its number is answered by itself, several as a list. */
type OneOrSeveral = RunView | readonly RunView[];

interface ListedRun extends Omit<RunRow, "print" | "conditions" | "day"> {
  /** The day driven where the car stood, YYYY-MM-DD: by the receiver, else by the clock of the recording. */
  readonly day: string | null;
  /** Null where the set-up cannot be read. */
  readonly car: string | null;
  readonly conditions: Readonly<Record<string, string>>;
  /** What the bus showed at the start, by role. */
  readonly measured: Readonly<Record<string, number | null>>;
}

interface ImportAnswer {
  /** Pulls that began while the car rolled, in order of time: they are not timed. */
  readonly rolling: readonly RollingPull[];
  readonly recording: number;
  readonly calibration: number;
  readonly wiring: readonly WiringFault[];
  readonly runs: readonly RunView[];
}

interface CaptureAnswer {
  readonly runs: readonly RunView[];
  /** Of what was recorded. */
  readonly wiring: readonly RecordingWiring[];
}

interface CheckAnswer extends BookCheck {
  /** No faults; holes and wrong wiring do not count. */
  readonly sound: boolean;
  readonly wiring: readonly RecordingWiring[];
}

/** One file that was written. */
interface Written {
  readonly file: string;
}

/** Files that were written; none where there was nothing to export. */
interface FilesWritten {
  readonly files: readonly string[];
}

interface SimulateAnswer extends FilesWritten {
  readonly seed: number;
}

interface ReportAnswer extends Written {
  readonly format: "html" | "pdf" | "png";
}

interface HappenedAnswer extends Written {
  readonly withPositions: boolean;
}

interface TableWritten extends Written {
  /** Rows, without the names. */
  readonly runs: number;
}

/** How many were changed by a table. */
export interface TableTaken {
  readonly runs: number;
  readonly labels: number;
  readonly reviews: number;
  readonly conditions: number;
  readonly files: number;
}

/** With --draw. */
interface DrawnExperiment {
  readonly experiment: Experiment;
  readonly plan: Plan;
}

/** By command. */
export interface JsonAnswers {
  readonly ports: readonly PortView[];
  readonly simulate: SimulateAnswer;
  readonly capture: CaptureAnswer;
  readonly import: ImportAnswer;
  readonly runs: readonly ListedRun[];
  readonly show: OneOrSeveral;
  readonly label: OneOrSeveral;
  readonly conditions: OneOrSeveral;
  readonly review: OneOrSeveral;
  readonly table: TableWritten | TableTaken;
  readonly gates: readonly Gate[];
  readonly plan: Pick<PlanView, "id" | "plan" | "progress" | "seconds" | "outside">;
  /** Two groups; or more, every pair of them. */
  readonly compare: GroupComparison["pairs"][number] | GroupComparison;
  readonly response: ResponseView | DrawnExperiment;
  readonly advise: TuneAnswer;
  readonly predict: PredictAnswer;
  readonly notice: NoticeView;
  readonly rederive: { readonly recordings: readonly Rederived[] };
  readonly check: CheckAnswer;
  readonly copy: Written;
  readonly merge: Merged;
  /** ArchiveSummary: of parquet. */
  readonly export: FilesWritten | ArchiveSummary;
  readonly happened: HappenedAnswer;
  readonly report: ReportAnswer;
  readonly completion: { readonly shell: "bash"; readonly script: string };
}
