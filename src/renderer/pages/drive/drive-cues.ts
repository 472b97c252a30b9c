/** Which sounds a live event plays: for a change of state, for a gate passed (with its words), for a lost source. */
import type { LaunchState, LiveEvent } from "../../../shared/contract/contract.ts";
import type { Cue, Cues } from "../../sound/cues.ts";

const CUE_OF: Partial<Record<LaunchState, Cue>> = { armed: "armed", standing: "ready", done: "done", aborted: "aborted" };

/** `words`: what happened since the event before; null when nothing did. */
export function playCues(cues: Cues, before: LiveEvent | null, now: LiveEvent, words: string | null): void {
  const cue = before !== null && now.state !== before.state ? CUE_OF[now.state] : undefined;
  if (cue !== undefined) cues.play(cue);
  else if (before !== null && now.gates.length > before.gates.length) cues.play("gate", words ?? undefined);
  else if (words?.includes("lost")) cues.play("lost");
}
