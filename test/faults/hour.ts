/**
 * A real hour of a full bus over two PTYs with the screen open in Chromium (`npm run faults:hour`; GRIPBOOK_MINUTES sets another number).
 * Exits 1 where a frame is missing, a process died, or the measuring process grew by a quarter after the first ten minutes.
 */
import { readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { ensureScreens } from "../../src/main/hosts/screens-build.ts";
import { runWeb } from "../../src/main/hosts/web/run-web.ts";
import { browserPath, openBrowser } from "../e2e/support/browser.ts";
import { whyNoPty } from "../support/pty-device.ts";
import { pause, until } from "./fault.ts";
import { pidOf } from "./process-of.ts";
import { faultsOf, holesIn, startWiredBus, storedNumbers } from "./wired-bus.ts";

const MINUTES = Number(process.env.GRIPBOOK_MINUTES ?? 60);
const FULL_BUS_FRAMES_A_MS = 8.756;
const SETTLED_MINUTES = Math.min(10, MINUTES / 2);
const MOST_GROWTH = 1.25;
const root = fileURLToPath(new URL("../..", import.meta.url));
const residentMb = (pid: number) => Number(/VmRSS:\s+(\d+)/.exec(readFileSync(`/proc/${pid}/status`, "utf8"))?.[1] ?? Number.NaN) / 1024;

if (browserPath === null || whyNoPty !== null) {
  console.log(`SKIPPED: ${whyNoPty ?? "no Chromium"}`);
  process.exit(0);
}
const bus = await startWiredBus(FULL_BUS_FRAMES_A_MS);
const running = await runWeb({
  coreEntry: `${root}/src/main/ingest/ingest-process.ts`,
  coreArguments: ["--book", bus.bookFile, "--setup", bus.setUpFile],
  screensFolder: await ensureScreens(root),
  port: 0,
  open: false,
});
const browser = await openBrowser();
const page = await browser.newPage();
await page.goto(`${running.host.link()}`);
await page.locator("body[data-page]").waitFor({ state: "attached" });
await page.evaluate(() => {
  window.location.hash = "drive";
});
await until(() => bus.sentSinceOpened > 1000, "frames flow");
const [core, host] = [pidOf("ingest-process", bus.bookFile), running.host.pid()];
let settledMb = Number.NaN;
let endMb = Number.NaN;
for (let minute = 1; minute <= MINUTES; minute += 1) {
  await pause(60_000);
  endMb = residentMb(core ?? 0);
  if (minute === SETTLED_MINUTES) settledMb = endMb;
  const heap = await page.evaluate(
    () => (performance as unknown as { memory?: { usedJSHeapSize: number } }).memory?.usedJSHeapSize ?? Number.NaN,
  );
  console.log(`${minute} min: measuring ${endMb.toFixed(0)} MB, page ${(heap / 2 ** 20).toFixed(1)} MB, ${bus.sent} frames sent`);
}
const same = core === pidOf("ingest-process", bus.bookFile) && host === running.host.pid();
const sent = bus.sent;
await pause(2000);
await running.close();
await browser.close();
const all = storedNumbers(bus.bookFile);
const numbers = all[0] ?? [];
const lost = holesIn(numbers) + Math.max(0, sent - 1 - (numbers.at(-1) ?? -1));
const faults = faultsOf(bus.bookFile);
console.log(
  `${MINUTES} min: ${sent} frames sent, ${lost} lost, ${all.length} recording; ${settledMb.toFixed(0)} to ${endMb.toFixed(0)} MB; ${same ? "no process died" : "A PROCESS DIED"}; ${faults.join("; ") || "the book is sound"}`,
);
await bus.end();
process.exit(lost === 0 && same && faults.length === 0 && endMb <= settledMb * MOST_GROWTH ? 0 : 1);
