/** Cases in which a window is not even tried. Pure; never fails. */

export interface WindowSurroundings {
  readonly platform: string;
  readonly environment: Readonly<Record<string, string | undefined>>;
  /** The user's number; undefined where the system has none. */
  readonly userId: number | undefined;
}

/** The reason, or null where a window may be tried. On Linux, Chromium has no sandbox for root, and without a sandbox nothing is shown. */
export function whyNoWindow({ platform, environment, userId }: WindowSurroundings): string | null {
  if (platform !== "linux") return null;
  if (userId === 0) return "No window of its own is opened for root, which has no sandbox";
  if (!environment.DISPLAY && !environment.WAYLAND_DISPLAY) return "There is no display for a window of its own";
  return null;
}
