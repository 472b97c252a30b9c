/** Who times launches while nothing is measured: the same threads for everything that a process derives. They end with it. */
import { createLaunchThreads } from "./adapters/host/launch-threads.ts";
import type { LaunchTeam } from "../shared/pipeline/launch-team.ts";

let team: LaunchTeam | null = null;

/** `onTrouble` is told once, when timing goes on in one thread. */
export function launchTeam(onTrouble: (text: string) => void): LaunchTeam {
  team ??= createLaunchThreads({ onTrouble });
  return team;
}
