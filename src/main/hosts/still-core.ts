/**
 * Decides about a measuring process that lives and says nothing: it is ended only where the system shows that it stands still (stopped, or waiting for
 * something that is no disk), or that it had a minute of processor time and got nowhere. One that waits for its disk, or for its turn on a busy
 * computer, is told of and left alone: another would wait as well, and what it holds in memory would be lost. Never fails.
 */
import { lookAtProcess, type ProcessLook } from "./process-state.ts";
import { type SilenceWatch, watchSilence } from "./silence-watch.ts";

export interface StillCoreOptions {
  readonly pid: number | undefined;
  readonly kill: () => void;
  /** What people must know; null once it is over. */
  readonly tell: (text: string | null) => void;
  readonly stillAfterS: number;
  readonly look?: (pid: number | undefined) => Promise<ProcessLook>;
}

/** It usually says something a hundred times a second; closing an hour's recording at once after sleep takes some seconds. */
export const STILL_AFTER_S = 20;
/** Of processor time within one silence. */
const MOST_CPU_S = 60;

export function watchStillCore({ pid, kill, tell, stillAfterS, look = lookAtProcess }: StillCoreOptions): SilenceWatch {
  let told: string | null = null;
  let looking = false;
  let stopped = false;
  /** Each silence has its own number. */
  let silence = 0;
  let cpuFromS: number | null = null;

  async function judge(seconds: number): Promise<void> {
    const mine = silence;
    const { state, cpuS } = await look(pid);
    if (stopped || mine !== silence) return;
    cpuFromS ??= cpuS;
    const standsStill = state === "stopped" || state === "waiting" || (state === "running" && cpuS - cpuFromS > MOST_CPU_S);
    if (standsStill) {
      stopped = true;
      tell(`The measuring process stands still since ${Math.floor(seconds)} s and is ended`);
      return kill();
    }
    const words =
      state === "drive"
        ? "Measuring waits for the drive and stores nothing meanwhile: check the drive that the book is on"
        : "Measuring does not answer: end what else keeps this computer busy, or close Gripbook and start it again";
    if (told !== words) tell(words);
    told = words;
  }

  const watch = watchSilence((seconds) => {
    if (seconds < stillAfterS || looking || stopped) return;
    looking = true;
    void judge(seconds).finally(() => {
      looking = false;
    });
  });
  return {
    heard() {
      watch.heard();
      silence += 1;
      cpuFromS = null;
      if (told !== null) tell(null);
      told = null;
    },
    stop() {
      stopped = true;
      watch.stop();
    },
  };
}
