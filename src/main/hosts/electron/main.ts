/**
 * The Electron program: one sandboxed window on app://, every permission refused, the measuring process supervised. Bundled by
 * shell-build.ts.
 */
import { join } from "node:path";
import { app, BrowserWindow, ipcMain, powerSaveBlocker, protocol, session } from "electron";
import { superviseCore } from "../core-process.ts";
import { createLogLine } from "../log-line.ts";
import { createNetworkSwitch } from "../network/network-switch.ts";
import { readPageFiles } from "../page-files.ts";
import { createPrintQueue } from "../print-queue.ts";
import { prepareBook } from "../run-start.ts";
import { coreArguments, readStartOptions } from "../start-options.ts";
import { printInWindow } from "./print-in-window.ts";
import { SHOWN_LINE } from "./run-shell.ts";
import {
  answerPage,
  APP_ORIGIN,
  checkSender,
  createDisplayGuard,
  keepAtHome,
  PAGE_PREFERENCES,
  refusePermissions,
  serveApp,
} from "./window-policy.ts";
import { utilityCore } from "./utility-core.ts";
import { utilityHost } from "./utility-host.ts";
import { wordsOf } from "../../../shared/kernel/words-of.ts";

const say = createLogLine("window");

/** macOS tells which book was double-clicked by an event, which may come before the program is ready; other systems by an argument. */
const openedBooks: string[] = [];
app.on("open-file", (event, file) => {
  event.preventDefault();
  openedBooks.push(file);
});

/**
 * From a clone, start.ts passes `--screens FOLDER -- CORE ARGUMENTS`; a packaged program reads its own options and has its screens inside.
 */
function readArguments(argv: readonly string[]): {
  readonly screens: string;
  readonly core: readonly string[];
  readonly endsWithInput: boolean;
} {
  if (app.isPackaged) {
    const options = readStartOptions([...argv.slice(1), ...openedBooks], {
      platform: process.platform,
      environment: process.env,
      workingFolder: process.cwd(),
    });
    prepareBook(options);
    return { screens: join(import.meta.dirname, "../renderer"), core: coreArguments(options), endsWithInput: false };
  }
  const at = argv.indexOf("--screens");
  const split = argv.indexOf("--", at);
  const screens = argv[at + 1];
  if (at < 0 || split < 0 || screens === undefined)
    throw new RangeError("Electron shell: expected --screens FOLDER -- ARGUMENTS; start it with npm start");
  return { screens, core: argv.slice(split + 1), endsWithInput: argv.slice(0, at).includes("--ends-with-input") };
}

protocol.registerSchemesAsPrivileged([
  { scheme: "app", privileges: { standard: true, secure: true, supportFetchAPI: true, codeCache: true } },
]);
app.enableSandbox();

function openWindow(): BrowserWindow {
  const window = new BrowserWindow({
    width: 1280,
    height: 760,
    show: false,
    autoHideMenuBar: true,
    webPreferences: {
      preload: join(import.meta.dirname, "preload.cjs"),
      ...PAGE_PREFERENCES,
      backgroundThrottling: false,
      autoplayPolicy: "no-user-gesture-required",
      devTools: !app.isPackaged,
    },
  });
  keepAtHome(window.webContents, (address) => address.startsWith(`${APP_ORIGIN}/`));
  // Measuring continues in its own process meanwhile.
  window.webContents.on("render-process-gone", (_, { reason }) => {
    say(`The page ended (${reason}) and is shown again`);
    window.reload();
  });
  window.once("ready-to-show", () => window.show());
  void window.loadURL(`${APP_ORIGIN}/`);
  return window;
}

async function run(): Promise<void> {
  await app.whenReady();
  const { screens, core: coreArguments, endsWithInput } = readArguments(process.argv);
  refusePermissions(session.defaultSession);
  const files = readPageFiles(screens);
  let isShown: () => void = () => undefined;
  const shown = new Promise<void>((resolve) => {
    isShown = resolve;
  });
  const core = superviseCore({
    spawn: () => utilityCore(join(import.meta.dirname, "ingest.mjs"), coreArguments),
    report: say,
    // Where no window can be shown, npm start continues in a browser, so the book must not be opened before the window is shown.
    ...(app.isPackaged ? {} : { after: shown }),
  });
  const network = createNetworkSwitch({
    core,
    spawn: () => utilityHost(join(import.meta.dirname, "network.mjs")),
    screensFolder: screens,
    report: say,
  });
  const print = createPrintQueue(printInWindow);
  protocol.handle("app", (request) => serveApp({ files, core, print }, request.url, request.signal));
  const guardDisplay = createDisplayGuard(powerSaveBlocker);
  const window = openWindow();
  ipcMain.handle("gripbook:request", (event, name: unknown, argument: unknown) => {
    checkSender(event.senderFrame, window.webContents.mainFrame);
    return answerPage(network, name, argument);
  });
  ipcMain.handle("gripbook:shown", (event) => {
    checkSender(event.senderFrame, window.webContents.mainFrame);
    process.stdout.write(`${SHOWN_LINE}\n`);
    isShown();
  });
  network.onEvent((event) => {
    if (event.event === "live") guardDisplay(event.state);
    if (!window.isDestroyed()) window.webContents.send("gripbook:event", event);
  });
  let closed = false;
  // The recording is closed before the program ends; otherwise the last run would be marked as interrupted.
  app.on("before-quit", (event) => {
    if (closed) return;
    event.preventDefault();
    void network
      .close()
      .then(core.close)
      .then(() => {
        closed = true;
        app.quit();
      });
  });
  app.on("window-all-closed", () => app.quit());
  // npm start holds the other end: the window closes with it.
  if (endsWithInput) process.stdin.on("end", () => app.quit()).resume();
}

run().catch((error: unknown) => {
  say(wordsOf(error));
  app.exit(1);
});
