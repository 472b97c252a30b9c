/**
 * SocketCAN by can-utils' candump: the only file that starts it, and no other program of can-utils is ever started. candump only reads; its
 * arguments are fixed but for the interface's name, which is matched by its pattern, and no shell is involved. Opening rejects where it does
 * not start; its end later is told to `onClose`, once.
 */
import { spawn } from "node:child_process";
import { isInterfaceName } from "../../../shared/setup/source-name.ts";
import type { Clock } from "../../ports/clock.ts";
import type { DeviceLine, LineEars } from "../sources/device-talk.ts";

const CANDUMP = "candump";
/** The log's form with the kernel's stamps, and a line for frames that the kernel dropped. */
const ARGUMENTS = ["-L", "-d"];
const MOST_LETTERS = 500;

interface CandumpLineOptions extends LineEars {
  readonly name: string;
  readonly clock: Pick<Clock, "monotonicNs">;
}

export function openCandumpLine({ name, clock, onBytes, onClose }: CandumpLineOptions): Promise<DeviceLine> {
  return new Promise((resolve, reject) => {
    if (!isInterfaceName(name)) return reject(new RangeError("no interface name"));
    const child = spawn(CANDUMP, [...ARGUMENTS, name], { stdio: ["ignore", "pipe", "pipe"], shell: false });
    let said = "";
    let closing = false;
    const gone = new Promise<void>((done) => child.once("close", () => done()));
    child.once("error", reject);
    child.stdout.on("data", (bytes: Buffer) => onBytes(bytes, clock.monotonicNs()));
    child.stderr.on("data", (bytes: Buffer) => {
      said = (said + bytes.toString("latin1")).slice(0, MOST_LETTERS);
    });
    child.once("close", (code) => {
      if (!closing) onClose(said.trim() === "" ? `candump ended with ${code}` : said.trim());
    });
    child.once("spawn", () =>
      resolve({
        close() {
          closing = true;
          child.kill("SIGTERM");
          return gone;
        },
      }),
    );
  });
}
