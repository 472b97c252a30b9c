/**
 * A receiver and an adapter on two PTYs, fed by the simulated car's bytes at real pace, with the faults of a first day: a receiver that is
 * garbage at any baud but its own, an adapter that answers and is silent at any bit rate but the bus's. The car drives gently until told to launch.
 */
import { spawnSync } from "node:child_process";
import { readdirSync, readFileSync, readlinkSync, realpathSync } from "node:fs";
import { defaultDayPlan, launchAndTurn } from "../../src/shared/simulation/default-day.ts";
import { createDrive } from "../../src/shared/simulation/drive.ts";
import type { Segment } from "../../src/shared/simulation/plan.ts";
import { createRandom } from "../../src/shared/simulation/random.ts";
import { answerLikeAdapter, createPtyDevice, type PtyDevice } from "./pty-device.ts";

const STEP_MS = 5;
const LOOK_MS = 100;

export interface FaultyDevices {
  readonly receiver: PtyDevice;
  readonly adapter: PtyDevice;
  /** True: the receiver says nothing. */
  mute: boolean;
  /**
   * The port is about to be opened at another baud. This process sees that only some time later, on a busy machine much later, and would hand
   * whole sentences to a wrong baud until then; a UART never does. From now on all is garbage until the other baud is seen.
   */
  baudChanges(): void;
  launch(): void;
  end(): Promise<void>;
}

/** Whether a process with `word` among its arguments holds the port open: a real device's bytes are lost while nobody does. */
function isHeld(port: string, word: string): boolean {
  for (const pid of readdirSync("/proc").filter((name) => /^\d+$/.test(name))) {
    try {
      if (!readFileSync(`/proc/${pid}/cmdline`, "utf8").includes(word)) continue;
      if (readdirSync(`/proc/${pid}/fd`).some((fd) => linkOf(`/proc/${pid}/fd/${fd}`) === port)) return true;
    } catch (error) {
      // Processes end while they are looked at.
      if (!["ENOENT", "EACCES", "ESRCH"].includes((error as NodeJS.ErrnoException).code ?? "")) throw error;
    }
  }
  return false;
}

function linkOf(path: string): string {
  try {
    return readlinkSync(path);
  } catch {
    return "";
  }
}

/** `holder`: a word among the arguments of the process that opens the ports. */
export async function startFaultyDevices({
  baud,
  bitrateCommand,
  holder,
  seed,
}: {
  baud: number;
  bitrateCommand: string;
  holder: string;
  seed: number;
}): Promise<FaultyDevices> {
  const [receiver, adapter] = [await createPtyDevice(), await createPtyDevice()];
  await receiver.plug();
  await adapter.plug();
  let launches = 0;
  let listening = false;
  let rate = "";
  let held = false;
  let heardBaud = 0;
  let changing = false;
  const devices = { receiver, adapter, mute: false };

  answerLikeAdapter(adapter, {
    onOpen: () => {
      listening = true;
    },
    onClose: () => {
      listening = false;
    },
  });
  adapter.onWritten((bytes) => {
    rate = /S\d/.exec(bytes.toString("latin1"))?.[0] ?? rate;
  });

  function* script(): Generator<Segment, void, undefined> {
    const random = createRandom(seed, "first day");
    for (;;) {
      if (launches > 0) {
        launches -= 1;
        yield* launchAndTurn(true, random);
      } else yield { kind: "gentle", seconds: 6 };
    }
  }
  const { segments: _, ...day } = defaultDayPlan(seed);
  const startUnixS = Math.floor(Date.now() / 1000);
  const drive = createDrive({ seed, plan: { ...day, startUnixS }, segments: script(), onLaunch: () => undefined });
  const startMs = performance.now();

  const feed = setInterval(() => {
    const untilUs = (performance.now() - startMs) * 1000;
    while (drive.nowUs() < untilUs) drive.step();
    for (const { stream, bytes } of drive.take()) {
      if (stream === "can") {
        if (listening && rate === bitrateCommand) adapter.write(bytes);
      } else if (held && !devices.mute) {
        // At a wrong baud a UART sees other bytes, about as many.
        receiver.write(heardBaud === baud && !changing ? bytes : bytes.map((byte, i) => 0x80 | ((byte * 7 + i * 13) & 0x7f)));
      }
    }
  }, STEP_MS);
  const look = setInterval(() => {
    held = isHeld(realpathSync(receiver.path), holder);
    if (!held) return;
    const seen = Number(spawnSync("stty", ["-F", receiver.path, "speed"]).stdout.toString().trim());
    if (seen !== heardBaud) changing = false;
    heardBaud = seen;
  }, LOOK_MS);

  return Object.assign(devices, {
    baudChanges() {
      changing = true;
    },
    launch() {
      launches += 1;
    },
    async end() {
      clearInterval(feed);
      clearInterval(look);
      await receiver.dispose();
      await adapter.dispose();
    },
  });
}
