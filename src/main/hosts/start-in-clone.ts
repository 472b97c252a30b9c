/** Starts what `npm start` shows: a window if its page says that it is shown, otherwise the browser. Screens and window program are built where they are older than their sources. */
import { fileURLToPath } from "node:url";
import { findElectron } from "./electron/find-electron.ts";
import { runShell } from "./electron/run-shell.ts";
import { ensureShell } from "./electron/shell-build.ts";
import { whyNoWindow } from "./electron/why-no-window.ts";
import { createLogLine } from "./log-line.ts";
import { runStart, type StartWays } from "./run-start.ts";
import { ensureScreens } from "./screens-build.ts";
import { coreArguments } from "./start-options.ts";

const root = fileURLToPath(new URL("../../..", import.meta.url));
const say = createLogLine("start");
/** For a shorter wait no message is needed. */
const QUIET_MS = 2_000;

const showWindow: StartWays["showWindow"] = async (options, running) => {
  const no = whyNoWindow({ platform: process.platform, environment: process.env, userId: process.getuid?.() });
  if (no !== null) return no;
  const slow = setTimeout(
    () => say("Fetching what a window of its own needs, once; if that takes long, the browser comes first"),
    QUIET_MS,
  );
  const electron = await findElectron();
  clearTimeout(slow);
  if (electron.executable === null) return electron.why;
  // On Windows a program with a window has no input to watch.
  const how = process.platform === "win32" ? [] : ["--ends-with-input"];
  const shellArguments = [await ensureShell(root), ...how, "--screens", await ensureScreens(root), "--", ...coreArguments(options)];
  const shell = runShell({ executable: electron.executable, shellArguments });
  running(shell);
  return shell.ended;
};

runStart({ typed: "npm start --", screensFolder: () => ensureScreens(root), showWindow });
