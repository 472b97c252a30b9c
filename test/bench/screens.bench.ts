/**
 * The screens in real Chromium over the real measuring process and two PTYs: a full 1 Mbit/s bus (8,756 frames/s, docs/check-values.md, a full bus) and a receiver at 10 Hz.
 * Gaps between frames of the live view, the time from the oldest byte to the end of the frame that drew it, what measuring takes of a core meanwhile, and from
 * a key to a stored 60 s run on screen. Gates: 20, 40 and 100 ms (docs/design.md, figures to reach), 35 %. Without Chromium or socat it says so.
 */
import { mkdtempSync, realpathSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { openSqliteBook } from "../../src/main/adapters/sqlite/sqlite-book.ts";
import { benchSamples } from "./bench-samples.ts";
import { FIXED_COLUMNS } from "../../src/main/adapters/sqlite/sample-columns.ts";
import { ROLE_COLUMNS } from "../../src/main/adapters/sqlite/sqlite-schema.ts";
import { ensureScreens } from "../../src/main/hosts/screens-build.ts";
import { runWeb } from "../../src/main/hosts/web/run-web.ts";
import { carSetUp, carSignalFile } from "../../src/shared/simulation/car-files.ts";
import { createLiveCar } from "../../src/shared/simulation/live-car.ts";
import { browserPath, openBrowser } from "../e2e/support/browser.ts";
import { COLUMNS } from "./columns.ts";
import { allTaken } from "./process-group.ts";
import { tellBench, whyBusy } from "./tell-bench.ts";
import { answerLikeAdapter, createPtyDevice, whyNoPty } from "../support/pty-device.ts";

const FRAMES_A_SECOND = 8756;
const LIVE_S = 20;
const OPENS = 40;
const MOST = { frameMs: 20, byteMs: 40, openMs: 100, corePercent: 35 };
const bench = tellBench("screens");
const root = fileURLToPath(new URL("../..", import.meta.url));

const share = (values: readonly number[], at: number) =>
  [...values].sort((a, b) => a - b)[Math.floor((values.length - 1) * at)] ?? Number.NaN;

/** Median and 99th percentile; the latter is held to `most`. */
function spread(name: string, what: string, values: readonly number[], most: number | null): void {
  const of = { unit: "ms", why: most === null ? null : whyBusy() };
  bench.figure({ name: `${name}-median`, what: `${what}, median of ${values.length}`, value: share(values, 0.5), unit: "ms" });
  bench.figure({
    name,
    what: `${what}, 99 in 100 at most`,
    value: share(values, 0.99),
    ...of,
    gate: most === null ? null : { of: "value", is: "at most", limit: most },
  });
}

/** Two runs of 60 s with every column filled. */
function prepareBook(file: string, setUp: string): void {
  const book = openSqliteBook({ file, create: true });
  const { id: recording } = book.startRecording({
    uid: "bench",
    origin: "import",
    baseUtcUs: Date.UTC(2031, 4, 4, 10) * 1000,
    canFormat: "slcan",
    setUp: { text: setUp, signalFiles: [{ name: "car.dbc", text: carSignalFile() }] },
  });
  const rows = 6000;
  for (const uid of ["bench-a", "bench-b"])
    book.addRun({
      uid,
      recording,
      final: true,
      label: uid,
      calibration: null,
      samples: benchSamples(rows, { fixed: 60, roles: 300 }),
      roleUnits: Object.fromEntries(ROLE_COLUMNS.map((name) => [name, ""])),
      print: { slipKmh: [], heldNm: [], intervening: [] },
      figures: {
        uid,
        movementS: 5,
        movementPlusMinus95: 0.01,
        startedAtUtcMs: Date.UTC(2031, 4, 4, 10),
        windowFromS: 0,
        windowToS: 60,
        courseDeg: 74,
        altitudeChangeM: null,
        gates: [{ gate: "0-60 mph", start: "movement", seconds: 50, plusMinus95: 0.01, atS: 55 }],
        slip: { peakSlipSpeedKmh: null, peakSlipRatio: null, secondsAbove10Percent: null },
        flags: [],
        measured: {},
      },
    });
  book.closeRecording(recording, "closed");
  book.markDerived(recording);
  book.close();
}

interface Seen {
  readonly frames: number[];
  /** Base time of an event, its oldest byte's age when it was sent, and when its frame had been drawn (ms of the wall clock). */
  readonly drawn: { readonly tMs: number; readonly ageMs: number; readonly heardMs: number; readonly atMs: number }[];
}

if (browserPath === null || whyNoPty !== null) bench.skipped("all", whyNoPty ?? "no Chromium");
else {
  const folder = mkdtempSync(join(tmpdir(), "gripbook-"));
  const [receiver, adapter] = [await createPtyDevice(), await createPtyDevice()];
  await receiver.plug();
  await adapter.plug();
  let listening = false;
  answerLikeAdapter(adapter, {
    onOpen: () => {
      listening = true;
    },
  });
  const has = { frontWheelSensors: true, rearWheelSensors: true, stamps: true };
  const { sources, ...setUp } = carSetUp(has);
  const text = JSON.stringify({
    ...setUp,
    sources: { gnss: { ...sources.gnss, port: realpathSync(receiver.path) }, can: { ...sources.can, port: realpathSync(adapter.path) } },
  });
  writeFileSync(join(folder, "setup.json"), text);
  writeFileSync(join(folder, "car.dbc"), carSignalFile());
  prepareBook(join(folder, "day.gripbook"), text);

  // The car's own frames, and others' up to a full bus, stamped as the adapter would.
  const car = createLiveCar({ seed: 1, startUnixS: Math.floor(Date.now() / 1000) });
  const startMs = performance.now();
  let frames = 0;
  const feed = setInterval(() => {
    const nowMs = performance.now() - startMs;
    let lines = "";
    for (const { stream, bytes } of car.advance(nowMs * 1000)) {
      if (stream === "gnss") receiver.write(bytes);
      else lines += Buffer.from(bytes).toString("latin1");
    }
    frames += lines.split("\r").length - 1;
    const stamp = lines.slice(-5, -1) || (Math.floor(nowMs) % 60000).toString(16).padStart(4, "0").toUpperCase();
    for (; frames < (nowMs * FRAMES_A_SECOND) / 1000; frames += 1)
      lines += `t7008${(frames >>> 0).toString(16).padStart(16, "0").toUpperCase()}${stamp}\r`;
    if (listening) adapter.write(lines);
  }, 4);

  const running = await runWeb({
    coreEntry: join(root, "test/bench/forty-columns.ts"),
    coreArguments: ["--book", join(folder, "day.gripbook"), "--setup", join(folder, "setup.json")],
    screensFolder: await ensureScreens(root),
    port: 0,
    open: false,
  });
  const browser = await openBrowser();
  try {
    const page = await browser.newPage({ viewport: { width: 1280, height: 720 } });
    await page.addInitScript(() => {
      const seen: Seen = { frames: [], drawn: [] };
      Object.assign(window, { seen });
      const now = () => performance.timeOrigin + performance.now();
      const waiting: { tMs: number; ageMs: number; heardMs: number }[] = [];
      const Socket = window.WebSocket;
      window.WebSocket = class extends Socket {
        constructor(address: string | URL, protocols?: string | string[]) {
          super(address, protocols);
          this.addEventListener("message", ({ data }) => {
            if (typeof data !== "string" || !data.startsWith('{"event":{"event":"live"')) return;
            const { event } = JSON.parse(data);
            waiting.push({ tMs: event.tS * 1000, ageMs: event.ageMs, heardMs: now() });
          });
        }
      };
      // A message posted in a frame's callbacks comes after that frame was styled and painted.
      const painted = new MessageChannel();
      painted.port1.onmessage = () => {
        for (const one of waiting.splice(0)) seen.drawn.push({ ...one, atMs: now() });
      };
      let last = 0;
      const loop = (at: number) => {
        if (last > 0) seen.frames.push(at - last);
        last = at;
        painted.port2.postMessage(null);
        requestAnimationFrame(loop);
      };
      requestAnimationFrame(loop);
    });
    await page.goto(running.host.link());
    await page.getByRole("button", { name: "I have read this" }).click();
    await page.locator(".tile").nth(1).waitFor();

    await page.locator(".gates tr.head").waitFor();
    const opens: number[] = [];
    for (let i = 0; i < OPENS; i += 1) {
      opens.push(
        await page.evaluate(
          (key) =>
            new Promise<number>((resolve) => {
              const canvas = document.querySelector<HTMLCanvasElement>(".figure-box canvas");
              const context = canvas?.getContext("2d");
              if (!context) throw new TypeError("no figure");
              const startMs = performance.now();
              const clear = context.clearRect.bind(context);
              context.clearRect = (...box) => {
                context.clearRect = clear;
                clear(...box);
                const channel = new MessageChannel();
                channel.port1.onmessage = () => resolve(performance.now() - startMs);
                requestAnimationFrame(() => channel.port2.postMessage(null));
              };
              document.dispatchEvent(new KeyboardEvent("keydown", { key, bubbles: true }));
            }),
          i % 2 === 0 ? "[" : "]",
        ),
      );
    }

    await page.keyboard.press("Control+4");
    await page.locator(".plate[data-state=idle]").waitFor();
    // The receiver may not have been heard yet.
    await page.locator('.foot .main:not([aria-disabled="true"])').waitFor();
    await page.keyboard.press("Space");
    await page.locator(".plate:not([data-state=idle])").waitFor();
    await page.evaluate(() => {
      const { seen } = window as unknown as { seen: Seen };
      seen.frames.length = 0;
      seen.drawn.length = 0;
    });
    const coreNow = () => allTaken().find(({ parent, command }) => parent === process.pid && command.includes("forty-columns"));
    const before = coreNow();
    await new Promise((resolve) => setTimeout(resolve, LIVE_S * 1000));
    const after = coreNow();
    const seen = await page.evaluate(() => (window as unknown as { seen: Seen }).seen);
    // Both clocks run alike; the quickest message of all stands for no way at all between the processes.
    const offset = Math.min(...seen.drawn.map(({ tMs, heardMs }) => heardMs - tMs));
    const byteMs = seen.drawn.map(({ tMs, ageMs, atMs }) => atMs - offset - tMs + ageMs);
    bench.note(`${seen.drawn.length / LIVE_S} live events a second, state ${await page.locator(".plate").textContent()}`);
    spread("frames", "live view at a full bus, between frames", seen.frames, MOST.frameMs);
    spread(
      "byte-sent",
      "oldest byte's age when its event was sent",
      seen.drawn.map(({ ageMs }) => ageMs),
      null,
    );
    spread("byte-drawn", "oldest byte to the end of the frame that drew it", byteMs, MOST.byteMs);
    const own = ROLE_COLUMNS.length + FIXED_COLUMNS.length - 1;
    spread("opened", `key to a stored 60 s run of ${COLUMNS} columns (${own} of them from the book) on screen`, opens, MOST.openMs);
    if (before === undefined || after === undefined) bench.skipped("measuring at a full bus", "only Linux tells what a process takes");
    else
      bench.figure({
        name: "live-core",
        what: "measuring live at a full bus, armed, the screen open",
        value: (100 * (after.processorS - before.processorS)) / LIVE_S,
        unit: "% of one core",
        gate: { of: "value", is: "at most", limit: MOST.corePercent },
        why: whyBusy(),
      });
  } finally {
    clearInterval(feed);
    await browser.close();
    await running.close();
    await receiver.dispose();
    await adapter.dispose();
    rmSync(folder, { recursive: true, force: true });
  }
}
