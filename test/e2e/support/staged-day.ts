/**
 * The crowded day over a core in the test's own process, on one page that is looked at in every size. A state is set once. Sizes in CSS px:
 * 853 x 480 is a screen of 1280 x 720 at 150 %.
 */
import { mkdirSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { composeScreens, hostClock } from "../../../src/main/compose.ts";
import type { CoreEvent } from "../../../src/shared/contract/contract.ts";
import type { NetworkAnswers, NetworkRequestName, NetworkView } from "../../../src/shared/contract/network-contract.ts";
import { LONG_LABELS, makeCrowdedDay } from "../../support/crowded-day.ts";
import { openBrowser } from "./browser.ts";
import { crowding } from "./crowding.ts";
import { type StagedPage, stagePage } from "./staged-page.ts";

const SIZES = [
  [853, 480],
  [900, 700],
  [960, 600],
  [1024, 576],
  [1024, 640],
  [1280, 720],
  [1366, 768],
  [1440, 900],
  [1920, 1080],
  [390, 844],
] as const;
/** A folder for pictures of all that is looked at, and the widths wanted: for the eye, not for the test. */
const { GRIPBOOK_PICTURES: PICTURES, GRIPBOOK_PICTURED: PICTURED } = process.env;

/** For what differs from what was looked at in all sizes in its words alone. */
const FEW = SIZES.filter(([width, height]) => [480, 640, 720, 844].includes(height) || width === 1920);

/** What all sizes must show beside being legible. */
interface Looked {
  /** Nothing may be lower than the window's edge. */
  readonly oneScreen?: boolean;
  /** What must stand on the passenger's seam. */
  readonly drawn?: readonly string[];
  readonly few?: boolean;
}

export interface StagedDay {
  readonly staged: StagedPage;
  readonly core: ReturnType<typeof composeScreens>["core"];
  go(page: string): Promise<void>;
  tell(...events: (CoreEvent | null)[]): Promise<void>;
  /** One line a fault, in whatever size it is seen. */
  sweep(state: string, looked?: Looked): Promise<string[]>;
  /** The core was told something past the page. */
  forget(): void;
  end(): Promise<void>;
}

/** The page on the local network as its switch tells it, under long names: off until it is turned on. */
function networkAnswer(name: NetworkRequestName): NetworkView | NetworkAnswers["network.on"] {
  const at = {
    address: "fd00:1234:5678:9abc:def0:1234:5678:9abc",
    name: "Wireless network connection 2",
    range: "fd00:1234:5678:9abc::/64",
  };
  const url = `http://[${at.address}]:61734/`;
  const off = { addresses: [at], refused: [], on: null };
  const on = { ...off, on: { at, url, screens: 2, codeUsed: false } };
  if (name === "network.off") isOn = false;
  if (name === "network.on") isOn = true;
  if (name === "network.read" || name === "network.off") return isOn ? on : off;
  return { link: `${url}enter?token=${"M".repeat(22)}.${"W".repeat(22)}`, view: on };
}
let isOn = false;

interface Seen {
  /** Notices above the view. */
  readonly bars: number;
  /** Where Abort ends, px from the window's top; null where it is not shown. */
  readonly abortBottom: number | null;
  /** All that stands on the passenger's seam. */
  readonly seam: string;
}

/** In the page. */
function seen(): Seen {
  const abort = document.querySelector('.foot button[data-kind="abort"]');
  const canvas = document.querySelector<HTMLCanvasElement>(".seam canvas");
  return {
    bars: [...document.querySelectorAll(".bar")].filter((bar) => bar.checkVisibility() && bar.getBoundingClientRect().height > 0).length,
    abortBottom: abort?.checkVisibility() === true ? abort.getBoundingClientRect().bottom : null,
    seam: (canvas === null ? [] : window.drawnTexts(canvas)).map(({ text }) => text).join("\n"),
  };
}

/** `paper`: what Report shows. Absent: the day's report. */
export async function stageDay({ paper }: { readonly paper?: string } = {}): Promise<StagedDay> {
  const folder = mkdtempSync(join(tmpdir(), "gripbook-sizes-"));
  const file = join(folder, "day.gripbook");
  makeCrowdedDay(file);
  const { core } = composeScreens({ bookFile: file, setUpFile: null, emit: () => undefined, rememberFile: null, clock: hostClock() });
  /** Answers kept until something is changed: a page asks the same again at every size. */
  const known = new Map<string, Promise<unknown>>();

  async function ask(name: string, argument: unknown): Promise<unknown> {
    if (name.startsWith("network.")) return networkAnswer(name as NetworkRequestName);
    if (/^drive\./.test(name)) return {};
    const key = JSON.stringify([name, argument]);
    const answer = known.get(key) ?? core.request(name as never, argument as never);
    if (/read|list|show|columns|open|run$|choices/.test(name)) known.set(key, answer);
    else known.clear();
    return answer;
  }

  /** By size and notices: no state moves it. */
  const abortAt = new Map<string, number>();
  const browser = await openBrowser();
  const staged = await stagePage(browser, ask, async () => paper ?? (await core.request("report.html", {})).html);
  const { page } = staged;
  await page.getByRole("button", { name: "I have read this" }).click();
  const long = LONG_LABELS.map((label) => label.slice(0, 20));

  async function picture(state: string, width: number, oneScreen: boolean): Promise<void> {
    if (PICTURES === undefined || (PICTURED !== undefined && !PICTURED.split(",").includes(String(width)))) return;
    mkdirSync(PICTURES, { recursive: true });
    await page.screenshot({ path: join(PICTURES, `${state.replace(/[^a-z0-9]+/gi, "-")}-${width}.png`), fullPage: !oneScreen });
  }

  return {
    staged,
    core,
    async go(name) {
      await page.evaluate((hash) => {
        window.location.hash = hash;
      }, name);
      await page.locator(`body[data-page="${name}"]`).waitFor({ state: "attached" });
    },
    tell: staged.tell,
    async sweep(state, { oneScreen = false, drawn = [], few = false } = {}) {
      const faults: string[] = [];
      for (const [width, height] of few ? FEW : SIZES) {
        await page.setViewportSize({ width, height });
        await staged.settled();
        const { bars, abortBottom, seam } = await page.evaluate(seen);
        // A phone shows notices above the view, and scrolls to it.
        const isWhole = oneScreen && !(width < 700 && bars > 0);
        const at = `${state} at ${width}x${height}`;
        for (const fault of await crowding(page, { oneScreen: isWhole, long })) faults.push(`${at}: ${fault}`);
        const bottom = isWhole ? abortBottom : null;
        const place = `${width}x${height}, ${bars} notices`;
        const before = abortAt.get(place) ?? bottom;
        if (bottom !== null) abortAt.set(place, bottom);
        if (bottom !== null && before !== null && Math.abs(bottom - before) > 1)
          faults.push(`${at}: Abort ends at ${bottom} px, before at ${before}`);
        for (const text of drawn) if (!seam.includes(text)) faults.push(`${at}: not drawn: "${text}"`);
        await picture(state, width, oneScreen);
      }
      return faults;
    },
    forget: () => known.clear(),
    async end() {
      await browser.close();
      await core.close();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}
