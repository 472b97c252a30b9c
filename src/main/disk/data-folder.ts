/** The folder for this person's books, notes and log when no place is named: the system's usual data folder. Never fails. */
import { homedir } from "node:os";
import { isAbsolute, join } from "node:path";

export interface Surroundings {
  readonly platform: string;
  readonly environment: Readonly<Record<string, string | undefined>>;
}

export const homeFolder = ({ environment }: Pick<Surroundings, "environment">): string =>
  named(environment.HOME) ?? named(environment.USERPROFILE) ?? homedir();

export function dataFolder({ platform, environment }: Surroundings): string {
  const home = homeFolder({ environment });
  if (platform === "win32") return join(named(environment.LOCALAPPDATA) ?? join(home, "AppData", "Local"), "Gripbook");
  if (platform === "darwin") return join(home, "Library", "Application Support", "Gripbook");
  return join(named(environment.XDG_DATA_HOME) ?? join(home, ".local", "share"), "gripbook");
}

/** An empty or relative path counts as none (XDG Base Directory Specification 0.8, "Basics" and "Environment variables"): it would mean another folder from each place Gripbook is started. */
const named = (path: string | undefined): string | null => (path !== undefined && isAbsolute(path) ? path : null);
