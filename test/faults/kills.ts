/**
 * Killed at random instants while recording over real PTYs: the measuring process, and the web host beside it. In the whole run something else keeps
 * the machine busy meanwhile.
 */
import { spawn } from "node:child_process";
import { cpus, loadavg } from "node:os";
import { fileURLToPath } from "node:url";
import { type RunningWeb, runWeb } from "../../src/main/hosts/web/run-web.ts";
import { createRandom } from "../../src/shared/simulation/random.ts";
import { whyNoPty } from "../support/pty-device.ts";
import { type Fault, pause, type Tried, until } from "./fault.ts";
import { pidOf } from "./process-of.ts";
import { FRAME_BYTES, faultsOf, firstUnread, holesIn, startWiredBus, storedNumbers, type WiredBus } from "./wired-bus.ts";

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

/** One kill: the first frame since the adapter was opened, how many frames had been written by then, when it was, and the first frame that Gripbook had not read. */
interface Kill {
  readonly from: number;
  readonly sent: number;
  readonly atMs: number;
  readonly unread: number;
}

async function killOnce(bus: WiredBus): Promise<Kill> {
  await until(() => pidOf("ingest-process", bus.bookFile) !== null, "the measuring process is there");
  const pid = pidOf("ingest-process", bus.bookFile);
  if (pid === null) throw new Error("the measuring process ended by itself");
  const { opened, sent } = bus;
  const from = sent - bus.sentSinceOpened;
  process.kill(pid, "SIGKILL");
  const atMs = performance.now();
  const unread = await firstUnread(bus, sent);
  await until(() => bus.opened > opened, "the adapter is opened again");
  return { from, sent, atMs, unread };
}

/** How old the oldest lost byte was at a kill, ms since it was written; and of what Gripbook had read. What an earlier kill lost is that one's. */
function lostAt(bus: WiredBus, stored: readonly number[], { from, sent, atMs, unread }: Kill): { allMs: number; readMs: number } {
  const first = Math.max(from, (stored.findLast((number) => number < sent) ?? -1) + 1);
  const age = (number: number) => (number < sent ? atMs - bus.writtenMs(number) : 0);
  return { allMs: age(first), readMs: first < unread ? bus.writtenMs(unread - 1) - bus.writtenMs(first) : 0 };
}

async function killMeasuring(times: number, timed: boolean, seed: number): Promise<Tried> {
  const bus = await startWiredBus();
  let running: RunningWeb | null = null;
  const random = createRandom(seed, "kills");
  const kills: Kill[] = [];
  try {
    running = await startOn(bus);
    for (let i = 0; i < times; i += 1) {
      await until(() => bus.opened > i && bus.sentSinceOpened > 300, "frames flow");
      await pause(random.between(0, 700));
      kills.push(await killOnce(bus));
    }
    await until(() => bus.sentSinceOpened > 300, "frames flow again");
    await running.close();
    const stored = storedNumbers(bus.bookFile)
      .flat()
      .sort((a, b) => a - b);
    const lost = kills.map((kill) => lostAt(bus, stored, kill));
    const wrong = [
      ...lost.flatMap(({ allMs, readMs }, i) =>
        timed && allMs > MOST_LOST_MS ? [`kill ${i + 1}: ${Math.round(allMs)} ms lost, ${Math.round(readMs)} ms of it had been read`] : [],
      ),
      ...faultsOf(bus.bookFile),
      ...storedNumbers(bus.bookFile).flatMap((numbers, i) => (holesIn(numbers) > 0 ? [`recording ${i + 1} has a hole`] : [])),
    ];
    const lostMs = Math.max(0, ...lost.map(({ allMs }) => allMs));
    const readMs = Math.max(0, ...lost.map((one) => one.readMs));
    const seen = `measuring ended and was started again; arm again. Read and not stored: ${Math.round(readMs)} ms at most; the rest waited to be read`;
    return { times, lostBytes: Math.round(lostMs) * FRAME_BYTES, lostMs, seen, wrong };
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
    // On a busy machine the line may hold seconds that nobody has read yet.
    let storedTo = -1;
    const look = setInterval(() => {
      storedTo = storedNumbers(bus.bookFile)[0]?.at(-1) ?? -1;
    }, 500);
    await until(() => storedTo >= sent, "what was written until the last kill is stored").finally(() => clearInterval(look));
    await running.close();
    const all = storedNumbers(bus.bookFile);
    const [numbers = []] = all;
    const holes = holesIn(numbers);
    const wrong = [
      ...(all.length === 1 ? [] : [`${all.length} recordings, expected one`]),
      ...(holes === 0 ? [] : [`${holes} frames lost`]),
      ...faultsOf(bus.bookFile),
    ];
    return {
      times,
      lostBytes: holes * FRAME_BYTES,
      lostMs: holes,
      seen: "The screens are back; an open page finds them by itself",
      wrong,
    };
  } finally {
    await running?.close();
    await bus.end();
  }
}

/** Several cars side by side, each with its share of the tries, as nearly all of the time is waiting. */
async function shared(cars: number, times: number, once: (times: number, seed: number) => Promise<Tried>): Promise<Tried> {
  const shares = Array.from({ length: Math.min(cars, times) }, (_, i) => Math.floor((times + i) / Math.min(cars, times)));
  const all = await Promise.all(shares.map((share, i) => once(share, 20310504 + i)));
  return {
    times: all.reduce((sum, one) => sum + one.times, 0),
    lostBytes: Math.max(...all.map((one) => one.lostBytes)),
    lostMs: Math.max(...all.map((one) => one.lostMs)),
    seen: all.reduce((worst, one) => (one.lostMs > worst.lostMs ? one : worst)).seen,
    wrong: all.flatMap((one) => one.wrong),
  };
}

/** Two programs that do nothing but take time, at everybody's priority, until the work is over. None where the machine is busy enough without them. */
async function besideBusy<T>(work: () => Promise<T>): Promise<T> {
  if ((loadavg()[0] ?? 0) > 2 * cpus().length) return work();
  const busy = [1, 2].map(() => spawn("sh", ["-c", "while :; do :; done"], { stdio: "ignore" }));
  try {
    return await work();
  } finally {
    for (const one of busy) one.kill("SIGKILL");
  }
}

export const kills: readonly Fault[] = [
  {
    name: "measuring process killed at a random instant",
    promise: "at most 250 ms of bytes lost, the book sound, measuring again by itself",
    whole: 200,
    short: 2,
    alone: true,
    whyNot: whyNoPty,
    run(times, timed) {
      const all = () => shared(timed ? 2 : 1, times, (share, seed) => killMeasuring(share, timed, seed));
      return timed ? besideBusy(all) : all();
    },
  },
  {
    name: "web host killed at a random instant",
    promise: "one recording without a hole, the screens back",
    whole: 200,
    short: 3,
    alone: false,
    whyNot: whyNoPty,
    run: (times, timed) => shared(timed ? 4 : 1, times, (share, seed) => killHost(share, seed)),
  },
];
