/** Killed at random instants while recording over real PTYs: the measuring process, and the web host beside it. */
import { fileURLToPath } from "node:url";
import { type RunningWeb, runWeb } from "../../src/main/hosts/web/run-web.ts";
import { createRandom } from "../../src/shared/simulation/random.ts";
import { whyNoPty } from "../support/pty-device.ts";
import { type Fault, pause, type Tried, until } from "./fault.ts";
import { pidOf } from "./process-of.ts";
import { FRAME_BYTES, faultsOf, holesIn, startWiredBus, storedNumbers, type WiredBus } from "./wired-bus.ts";

const INGEST = fileURLToPath(new URL("../../src/main/ingest/ingest-process.ts", import.meta.url));
const MOST_LOST_MS = 250;

const startOn = (bus: WiredBus): Promise<RunningWeb> =>
  runWeb({
    coreEntry: INGEST,
    coreArguments: ["--book", bus.bookFile, "--setup", bus.setUpFile],
    screensFolder: bus.folder,
    port: 0,
    open: false,
  });

async function killMeasuring(times: number, timed: boolean, seed: number): Promise<Tried> {
  const bus = await startWiredBus();
  let running: RunningWeb | null = null;
  const random = createRandom(seed, "kills");
  const sentAtKill: number[] = [];
  try {
    running = await startOn(bus);
    for (let i = 0; i < times; i += 1) {
      await until(() => bus.opened > i && bus.sentSinceOpened > 300, "frames flow");
      await pause(random.between(0, 700));
      await until(() => pidOf("ingest-process", bus.bookFile) !== null, "the measuring process is there");
      const pid = pidOf("ingest-process", bus.bookFile);
      if (pid === null) throw new Error("the measuring process ended by itself");
      const opened = bus.opened;
      sentAtKill.push(bus.sent);
      process.kill(pid, "SIGKILL");
      await until(() => bus.opened > opened, "the adapter is opened again");
    }
    await until(() => bus.sentSinceOpened > 300, "frames flow again");
    await running.close();
    const stored = storedNumbers(bus.bookFile)
      .flat()
      .sort((a, b) => a - b);
    const lost = sentAtKill.map((sent) => sent - 1 - (stored.findLast((number) => number < sent) ?? -1));
    const wrong = [
      ...lost.flatMap((ms, i) => (timed && ms > MOST_LOST_MS ? [`kill ${i + 1}: ${ms} ms lost`] : [])),
      ...faultsOf(bus.bookFile),
      ...storedNumbers(bus.bookFile).flatMap((numbers, i) => (holesIn(numbers) > 0 ? [`recording ${i + 1} has a hole`] : [])),
    ];
    const lostMs = Math.max(0, ...lost);
    return { times, lostBytes: lostMs * FRAME_BYTES, lostMs, seen: "measuring ended and was started again; arm again", wrong };
  } finally {
    await running?.close();
    await bus.end();
  }
}

async function killHost(times: number, seed: number): Promise<Tried> {
  const bus = await startWiredBus();
  let running: RunningWeb | null = null;
  const random = createRandom(seed, "host kills");
  try {
    running = await startOn(bus);
    const { host } = running;
    await until(() => bus.opened > 0 && bus.sentSinceOpened > 300, "frames flow");
    for (let i = 0; i < times; i += 1) {
      const pid = host.pid();
      if (pid === undefined) throw new Error("the web host was not found");
      process.kill(pid, "SIGKILL");
      await until(() => ![pid, undefined].includes(host.pid()), "the web host is back");
      await pause(random.between(0, 150));
    }
    const sent = bus.sent;
    await until(() => bus.sent > sent + 1500, "frames flow to the end");
    await running.close();
    const all = storedNumbers(bus.bookFile);
    const [numbers = []] = all;
    const holes = holesIn(numbers);
    const late = Math.max(0, sent - 1 - (numbers.at(-1) ?? -1));
    const wrong = [
      ...(all.length === 1 ? [] : [`${all.length} recordings, expected one`]),
      ...(holes + late === 0 ? [] : [`${holes + late} frames lost`]),
      ...faultsOf(bus.bookFile),
    ];
    return {
      times,
      lostBytes: (holes + late) * FRAME_BYTES,
      lostMs: holes + late,
      seen: "The screens are back; an open page finds them by itself",
      wrong,
    };
  } finally {
    await running?.close();
    await bus.end();
  }
}

/** Several cars side by side, each with its share of the tries: nearly all of the time is waiting. */
async function shared(cars: number, times: number, once: (times: number, seed: number) => Promise<Tried>): Promise<Tried> {
  const shares = Array.from({ length: Math.min(cars, times) }, (_, i) => Math.floor((times + i) / Math.min(cars, times)));
  const all = await Promise.all(shares.map((share, i) => once(share, 20310504 + i)));
  return {
    times: all.reduce((sum, one) => sum + one.times, 0),
    lostBytes: Math.max(...all.map((one) => one.lostBytes)),
    lostMs: Math.max(...all.map((one) => one.lostMs)),
    seen: all[0]?.seen ?? "",
    wrong: all.flatMap((one) => one.wrong),
  };
}

export const kills: readonly Fault[] = [
  {
    name: "measuring process killed at a random instant",
    promise: "at most 250 ms of bytes lost, the book sound, measuring again by itself",
    whole: 200,
    short: 2,
    whyNot: whyNoPty,
    run: (times, timed) => shared(timed ? 4 : 1, times, (share, seed) => killMeasuring(share, timed, seed)),
  },
  {
    name: "web host killed at a random instant",
    promise: "one recording without a hole, the screens back",
    whole: 200,
    short: 3,
    whyNot: whyNoPty,
    run: (times, timed) => shared(timed ? 4 : 1, times, (share, seed) => killHost(share, seed)),
  },
];
