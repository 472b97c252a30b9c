/**
 * From `npm start` to the first live values in a real Chromium, against a Node program with one page and one socket; what everything takes of one core while
 * nothing happens, and the measuring process's memory after the first simulated day. On Linux with Chromium; elsewhere it says so.
 */
import { mkdtempSync, realpathSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import type { Browser } from "playwright-core";
import { ensureScreens } from "../../src/main/hosts/screens-build.ts";
import { carSetUp, carSignalFile } from "../../src/shared/simulation/car-files.ts";
import { createLiveCar } from "../../src/shared/simulation/live-car.ts";
import { browserPath, openBrowser } from "../e2e/support/browser.ts";
import { answerLikeAdapter, createPtyDevice, whyNoPty } from "../support/pty-device.ts";
import { groupTaken, shareOfCore } from "./process-group.ts";
import { startApp } from "./started-app.ts";
import { median, tellBench, whyBusy } from "./tell-bench.ts";

const STARTS = 5;
const IDLE_S = 20;
/** After a start, until everything that it sets going has ended. */
const REST_S = 10;
const MOST = { startMs: 2000, idlePercent: 3, residentMb: 250 };
const root = fileURLToPath(new URL("../..", import.meta.url));
const bench = tellBench("start");
const seconds = (length: number) => new Promise((resolve) => setTimeout(resolve, length * 1000));
const atMost = (limit: number) => ({ of: "value", is: "at most", limit }) as const;
const folder = mkdtempSync(join(tmpdir(), "gripbook-start-"));
const typed = (...more: string[]) => ["npm", "start", "--", "--web", "--no-open", "--port", "0", ...more];
const place = { folder, cwd: root };

/** The measuring process of a group. */
const measuring = (group: number) => groupTaken(group).find(({ command }) => command.includes("ingest-process"));

async function idleShare(group: number): Promise<number> {
  await seconds(REST_S);
  const before = groupTaken(group);
  await seconds(IDLE_S);
  return shareOfCore(before, groupTaken(group), IDLE_S);
}

async function starts(browser: Browser, book: string): Promise<void> {
  const [ours, plain]: [number[], number[]] = [[], []];
  for (let i = 0; i < STARTS; i += 1) {
    const app = await startApp(browser, typed("--book", book), place);
    ours.push(app.liveMs);
    await app.end();
    const empty = await startApp(browser, ["node", fileURLToPath(new URL("plain-server.ts", import.meta.url))], {
      ...place,
      begins: "first",
    });
    plain.push(empty.liveMs);
    await empty.end();
  }
  bench.figure({
    name: "live",
    what: "npm start to the first live values on screen",
    value: median(ours),
    unit: "ms",
    reference: { name: "a Node program with one page and one socket", value: median(plain) },
    gate: atMost(MOST.startMs),
    why: whyBusy(),
  });
}

async function firstDay(browser: Browser, book: string): Promise<void> {
  const app = await startApp(browser, typed("--book", book), place);
  bench.figure({
    name: "first-day",
    what: "npm start with a new book to the first live values: its simulated day",
    value: app.liveMs,
    unit: "ms",
  });
  await seconds(REST_S);
  bench.figure({
    name: "memory",
    what: "the measuring process after the first simulated day",
    value: measuring(app.group)?.residentMb ?? Number.NaN,
    unit: "MB",
    gate: atMost(MOST.residentMb),
  });
  await app.end();
}

async function idle(browser: Browser, name: string, what: string, given: readonly string[]): Promise<void> {
  const app = await startApp(browser, typed(...given), place);
  const unit = "% of one core";
  const gate = atMost(MOST.idlePercent);
  bench.figure({
    name: `${name}-page`,
    what: `${what}, its runs on screen`,
    value: await idleShare(app.group),
    unit,
    gate,
    why: whyBusy(),
  });
  await app.page.close();
  bench.figure({ name, what: `${what}, no page open`, value: await idleShare(app.group), unit, gate, why: whyBusy() });
  await app.end();
}

/** A car that stands with its bus asleep: only the receiver is heard. */
async function ownCar(browser: Browser): Promise<void> {
  if (whyNoPty !== null) return bench.skipped("idle with an own car", whyNoPty);
  const [receiver, adapter] = [await createPtyDevice(), await createPtyDevice()];
  await receiver.plug();
  await adapter.plug();
  answerLikeAdapter(adapter);
  const { sources, ...setUp } = carSetUp({ frontWheelSensors: true, rearWheelSensors: true, stamps: true });
  const ports = { gnss: { ...sources.gnss, port: realpathSync(receiver.path) }, can: { ...sources.can, port: realpathSync(adapter.path) } };
  writeFileSync(join(folder, "own.json"), JSON.stringify({ ...setUp, sources: ports }));
  writeFileSync(join(folder, "car.dbc"), carSignalFile());
  const car = createLiveCar({ seed: 1, startUnixS: Math.floor(Date.now() / 1000) });
  const from = performance.now();
  const feed = setInterval(() => {
    for (const { stream, bytes } of car.advance((performance.now() - from) * 1000)) if (stream === "gnss") receiver.write(bytes);
  }, 50);
  try {
    await idle(browser, "idle-own", "idle, own car on PTYs, its bus asleep", [
      "--setup",
      join(folder, "own.json"),
      "--book",
      join(folder, "own.gripbook"),
    ]);
  } finally {
    clearInterval(feed);
    await receiver.dispose();
    await adapter.dispose();
  }
}

if (browserPath === null || process.platform !== "linux")
  bench.skipped("all", browserPath === null ? "no Chromium" : "only Linux tells what a group of processes takes");
else {
  await ensureScreens(root);
  const browser = await openBrowser();
  try {
    const book = join(folder, "day.gripbook");
    await firstDay(browser, book);
    await starts(browser, book);
    await idle(browser, "idle-simulated", "idle, simulated car", ["--book", book]);
    await ownCar(browser);
  } finally {
    await browser.close();
    rmSync(folder, { recursive: true, force: true });
  }
}
