/** Reports on the command line which source became silent while recording, and when it came back; each once. Never fails. */
import type { LiveEvent } from "../../shared/contract/contract.ts";

const SOURCES = [
  ["gnss", "Receiver"],
  ["can", "CAN adapter"],
] as const;

export function createSilenceTeller(tell: (line: string) => void): (live: Pick<LiveEvent, "gnss" | "can">) => void {
  const silent = new Set<string>();
  return (live) => {
    for (const [stream, whose] of SOURCES) {
      const { state, words } = live[stream];
      if (state === "stale" && !silent.has(stream)) {
        silent.add(stream);
        tell(`${whose}: ${words}; the recording goes on, and it is heard again by itself`);
      } else if (state === "fresh" && silent.delete(stream)) tell(`${whose}: heard again`);
    }
  };
}
