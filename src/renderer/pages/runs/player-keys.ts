/** What the replay's keys do: play, speeds, sample by sample, to the ends, from gate to gate. */
import type { ActionName } from "../../screen/key-map.ts";
import type { Page } from "../../screen/page.ts";
import type { Player } from "./player.ts";
import type { RunData } from "./run-data.ts";

const SAMPLE_S = 0.01;
/** With Shift. */
const STEP_S = 0.1;
const PACE_ACTIONS = ["runs.pace1", "runs.pace2", "runs.pace3", "runs.pace4", "runs.pace5"] as const satisfies readonly ActionName[];

/** The first gate after a time; after the last gate the first of all; 0 without gates. */
function nextGateS(run: RunData | null, afterS: number): number {
  const gates = (run?.view.gates ?? []).flatMap(({ start, seconds }) => (start === "movement" && seconds !== null ? [seconds] : []));
  gates.sort((a, b) => a - b);
  return gates.find((at) => at > afterS + 0.001) ?? gates[0] ?? 0;
}

export function playerKeys(player: Player, run: () => RunData | null): Page["acts"] {
  const move = (way: -1 | 1) => (event: KeyboardEvent) => player.moveTo(player.cursorS() + way * (event.shiftKey ? STEP_S : SAMPLE_S));
  return {
    "runs.play": () => player.toggle(),
    ...Object.fromEntries(PACE_ACTIONS.map((action, i) => [action, () => player.pace(i)])),
    "runs.back": move(-1),
    "runs.ahead": move(1),
    "runs.start": () => player.moveTo(Number.NEGATIVE_INFINITY),
    "runs.end": () => player.moveTo(Number.POSITIVE_INFINITY),
    "runs.gate": () => player.moveTo(nextGateS(run(), player.cursorS())),
  };
}
