/** The measuring process, as a Node child or as an Electron utility process. What cannot be opened ends it with one line on stderr. */
import { constants, setPriority } from "node:os";
import { hostClock } from "../compose.ts";
import { exitCodeOf, lineOf } from "../core/basics/failure.ts";
import { createLog } from "../disk/log.ts";
import { hostPort } from "./host-port.ts";
import { runIngest } from "./run-ingest.ts";

// A launcher or terminal that has gone reads nothing more; the recording is closed all the same.
for (const stream of [process.stdout, process.stderr]) stream.on("error", () => undefined);
goFirst();
try {
  runIngest(hostPort(), hostClock());
} catch (error) {
  process.stderr.write(`${lineOf(error)}\n`);
  createLog("measuring")("error", `could not open: ${lineOf(error)}`);
  process.exitCode = exitCodeOf(error);
  process.disconnect?.();
}

/** Bytes wait for nothing else that this computer does, where the system lets a person say so: Linux does not let everybody. */
function goFirst(): void {
  try {
    setPriority(constants.priority.PRIORITY_ABOVE_NORMAL);
  } catch {
    // Measuring then takes its turn with the rest.
  }
}
