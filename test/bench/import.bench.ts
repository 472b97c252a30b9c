/**
 * An hour of log with 120 launches, imported as people import it: by one thread, then with a second one that times launches beside it. Gates: seconds on two
 * cores against this machine's processor time for the same by one thread (at best half of what can be shared), and against a plain copy of the logs'
 * bytes. Both books are compared.
 */
import { copyFileSync, mkdtempSync, rmSync, statSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { createLaunchThreads } from "../../src/main/adapters/host/launch-threads.ts";
import { openSqliteBook } from "../../src/main/adapters/sqlite/sqlite-book.ts";
import { importLogs, openSetUp } from "../../src/main/compose.ts";
import { drain } from "../../src/shared/kernel/drain.ts";
import { ALONE, type LaunchTeam } from "../../src/shared/pipeline/launch-team.ts";
import { readPlan } from "../../src/shared/simulation/read-plan.ts";
import { writeDay } from "../../src/shared/simulation/write-day.ts";
import { tellBench, whyBusy } from "./tell-bench.ts";

const LAUNCHES = 120;
/** Wall time on two cores over one thread's processor time: 1 would be nothing gained. */
const MOST_SHARE = 0.85;
const SEED = 1;
const bench = tellBench("import");

const folder = mkdtempSync(join(tmpdir(), "gripbook-import-"));
const at = (name: string) => join(folder, name);

function makeLogs(): void {
  const launches = Array.from({ length: LAUNCHES }, (_, i) => ({
    kind: "launch",
    tractionControl: i % 2 === 0,
    label: i % 2 === 0 ? "traction control on" : "traction control off",
  }));
  const segments = [{ kind: "stand", seconds: 4 }, { kind: "gentle", seconds: 200 }, ...launches, { kind: "stand", seconds: 5 }];
  for (const { file, text } of writeDay({ seed: SEED, plan: readPlan({ segments }, SEED) }))
    writeFileSync(at(file), text, { encoding: "latin1", flag: "a" });
}

interface Taken {
  readonly wallS: number;
  readonly processorS: number;
  readonly contents: string;
}

function imported(name: string, team: LaunchTeam): Taken {
  const book = openSqliteBook({ file: at(`${name}.gripbook`), create: true });
  const [from, begun] = [performance.now(), process.cpuUsage()];
  drain(
    importLogs({
      book,
      ready: openSetUp(at("setup.json")),
      canFile: at("bus.slcan"),
      canFormat: "slcan",
      gnssFile: at("receiver.nmea"),
      onNote: bench.note,
      label: "",
      conditions: {},
      team,
    }),
  );
  const { user, system } = process.cpuUsage(begun);
  const wallS = (performance.now() - from) / 1000;
  const contents = JSON.stringify(book.runs());
  book.close();
  const what = `an hour of log, ${LAUNCHES} launches, ${name}`;
  bench.figure({ name: `${name}-wall`, what, value: wallS, unit: "s" });
  bench.figure({ name: `${name}-processor`, what, value: (user + system) / 1e6, unit: "s of processor time" });
  return { wallS, processorS: (user + system) / 1e6, contents };
}

function copied(): number {
  const from = performance.now();
  for (const name of ["bus.slcan", "receiver.nmea"]) copyFileSync(at(name), at(`copy-of-${name}`));
  return (performance.now() - from) / 1000;
}

try {
  makeLogs();
  const bytes = statSync(at("bus.slcan")).size + statSync(at("receiver.nmea")).size;
  const copyS = copied();
  const alone = imported("one thread", ALONE);
  const team = createLaunchThreads({ threads: 1, onTrouble: bench.note });
  const together = imported("two threads", team);
  team.close();
  const bookS = { name: "one thread's processor time", value: alone.processorS };
  bench.figure({
    name: "two-threads",
    what: "an hour of log, two threads",
    value: together.wallS,
    unit: "s",
    reference: bookS,
    gate: { of: "ratio", is: "at most", limit: MOST_SHARE },
    // Where other programs want the cores too, wall time says nothing of this one.
    why: whyBusy(),
  });
  bench.figure({
    name: "against-a-copy",
    what: `an hour of log, ${(bytes / 1e6).toFixed(0)} MB, two threads`,
    value: together.wallS,
    unit: "s",
    reference: { name: "a plain copy of the logs", value: copyS },
  });
  if (together.contents !== alone.contents) throw new Error("The two books differ");
} finally {
  rmSync(folder, { recursive: true, force: true });
}
