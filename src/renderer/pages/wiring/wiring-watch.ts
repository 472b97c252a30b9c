/**
 * What Wiring shows, read again twice a second while the page is shown. Work that closes the ports stops the reading; errors go to the
 * frame.
 */
import type { WiringView } from "../../../shared/contract/wiring-contract.ts";
import type { Frame } from "../../screen/page.ts";

const LOOK_EVERY_MS = 500;

export interface WiringWatch {
  /** null until it was read for the first time. */
  view(): WiringView | null;
  /** What is being done, in words; null when nothing is. */
  busy(): string | null;
  start(): void;
  stop(): void;
  /** Reads at once, if the page was shown before. */
  lookAgain(): void;
  /** Work that closes the ports for a while: its words are shown until it is over. */
  whileBusy(words: string, work: () => Promise<unknown>): Promise<void>;
}

/** `onChange`: there is something new to show. */
export function createWiringWatch(frame: Frame, onChange: () => void): WiringWatch {
  let view: WiringView | null = null;
  let busy: string | null = null;
  let timer: ReturnType<typeof setInterval> | undefined;

  async function look(): Promise<void> {
    if (busy !== null || frame.feed.frozen()) return;
    try {
      const found = await frame.bridge.request("wiring.read", {});
      if (busy !== null) return;
      view = found;
      onChange();
    } catch (error) {
      clearInterval(timer);
      frame.fail(error);
    }
  }

  return {
    view: () => view,
    busy: () => busy,
    start() {
      clearInterval(timer);
      timer = setInterval(() => void look(), LOOK_EVERY_MS);
      void look();
    },
    stop: () => clearInterval(timer),
    lookAgain: () => timer !== undefined && void look(),
    async whileBusy(words, work) {
      if (busy !== null) return;
      busy = words;
      onChange();
      try {
        await work();
      } catch (error) {
        frame.fail(error);
      } finally {
        busy = null;
        await look();
      }
    },
  };
}
