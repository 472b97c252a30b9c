/** The order in which test files begin: those that work or wait longest first, so that none goes on alone at the end. A file not named here comes after, larger ones first. */
import { BaseSequencer, type TestSpecification } from "vitest/node";

/** By how long they took in a whole run. */
const LONG = [
  "e2e/first-day",
  "e2e/test-day",
  "e2e/units",
  "e2e/sizes",
  "faults/faults",
  "e2e/page-sizes",
  "shared/claims/claims",
  "shared/pipeline/ready-never-rolls",
  "e2e/judge",
  "main/core/wiring/one-truth",
  "e2e/screens",
  "main/command-line/cancel-import",
  "e2e/lost",
  "main/command-line/import",
  "main/core/deriving/same-run",
  "e2e/network",
  "shared/launch/decoys",
  "shared/claims/tune-claims",
  "main/command-line/wrong-wiring",
  "main/adapters/network/gpsd-receiver",
  "main/command-line/capture-network",
  "main/ingest/ingest-process",
  "e2e/charts",
  "shared/claims/faults",
  "e2e/tuner-edits",
  "packaging/answer-schemas",
  "e2e/passenger",
  "e2e/late-answers",
  "main/command-line/judge",
  "main/command-line/advise",
  "main/hosts/run-web",
  "main/core/recording/full-until-the-end",
  "main/command-line/one-writer",
  "main/core/wiring/wiring-core",
  "main/adapters/host/tuning-thread",
  "shared/run/estimate-run",
  "main/adapters/serial/sleeping-device",
  "main/core/recording/before-list",
  "e2e/touch",
  "main/hosts/report-on-paper",
  "e2e/calibrate",
  "main/hosts/first-command",
  "main/core/recording/moved-book",
  "main/command-line/capture",
  "e2e/passenger-labels",
  "main/adapters/serial/listen-first",
  "main/core/wiring/never-a-byte",
];

function place({ moduleId }: TestSpecification): number {
  const at = LONG.findIndex((name) => moduleId.endsWith(`/test/${name}.test.ts`));
  return at === -1 ? LONG.length : at;
}

export class LongFirst extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    return (await super.sort(files)).sort((a, b) => place(a) - place(b));
  }
}
