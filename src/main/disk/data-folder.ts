/** The folder for this person's books, notes and log when no place is named: the system's usual data folder. Never fails. */
import { homedir } from "node:os";
import { join } from "node:path";

export interface Surroundings {
  readonly platform: string;
  readonly environment: Readonly<Record<string, string | undefined>>;
}

export const homeFolder = ({ environment }: Pick<Surroundings, "environment">): string =>
  environment.HOME ?? environment.USERPROFILE ?? homedir();

export function dataFolder({ platform, environment }: Surroundings): string {
  const home = homeFolder({ environment });
  if (platform === "win32") return join(environment.LOCALAPPDATA ?? join(home, "AppData", "Local"), "Gripbook");
  if (platform === "darwin") return join(home, "Library", "Application Support", "Gripbook");
  return join(environment.XDG_DATA_HOME ?? join(home, ".local", "share"), "gripbook");
}
