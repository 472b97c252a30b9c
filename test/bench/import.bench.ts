/**
 * An hour of log with 120 launches, imported as people import it: by one thread, then with a second one that times launches beside it. Gates: seconds on two
 * cores against this machine's processor time for the same by one thread (at best half of what can be shared), and against a plain copy of the logs'
 * bytes. Both books are compared. Exits 1 above a gate.
 */
import { copyFileSync, mkdtempSync, rmSync, statSync, writeFileSync } from "node:fs";
import { availableParallelism, loadavg, tmpdir } from "node:os";
import { join } from "node:path";
import { createLaunchThreads } from "../../src/main/adapters/host/launch-threads.ts";
import { openSqliteBook } from "../../src/main/adapters/sqlite/sqlite-book.ts";
import { importLogs, openSetUp } from "../../src/main/compose.ts";
import { drain } from "../../src/shared/kernel/drain.ts";
import { ALONE, type LaunchTeam } from "../../src/shared/pipeline/launch-team.ts";
import { readPlan } from "../../src/shared/simulation/read-plan.ts";
import { writeDay } from "../../src/shared/simulation/write-day.ts";

const LAUNCHES = 120;
/** Wall time on two cores over one thread's processor time: 1 would be nothing gained. */
const MOST_SHARE = 0.85;
const SEED = 1;

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
      onNote: (line) => console.log(`import: ${line}`),
      label: "",
      conditions: {},
      team,
    }),
  );
  const { user, system } = process.cpuUsage(begun);
  const wallS = (performance.now() - from) / 1000;
  const contents = JSON.stringify(book.runs());
  book.close();
  console.log(
    `import: an hour of log, ${LAUNCHES} launches, ${name}: ${wallS.toFixed(1)} s, ${((user + system) / 1e6).toFixed(1)} s of processor time`,
  );
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
  const team = createLaunchThreads({ threads: 1, onTrouble: (line) => console.log(`import: ${line}`) });
  const together = imported("two threads", team);
  team.close();
  const share = together.wallS / alone.processorS;
  console.log(
    `import: two threads take ${share.toFixed(2)} of one thread's processor time (gate ${MOST_SHARE}), ${(together.wallS / copyS).toFixed(0)} times a plain copy of the ${(bytes / 1e6).toFixed(0)} MB; load ${loadavg()[0]?.toFixed(1)} on ${availableParallelism()} cores`,
  );
  if (together.contents !== alone.contents) {
    console.log("import: FAILED, the two books differ");
    process.exitCode = 1;
  }
  // Where other programs want the cores too, wall time says nothing of this one.
  const isQuiet = (loadavg()[0] as number) < availableParallelism() + 1;
  if (!isQuiet) console.log("import: skipped the gate: this machine is busy with something else");
  else if (share > MOST_SHARE) {
    console.log("import: FAILED, over the gate");
    process.exitCode = 1;
  }
} finally {
  rmSync(folder, { recursive: true, force: true });
}
