/** Runs Gripbook in a browser: measuring process, loopback host, opened page. Resolves once the address is printed. */
import { createLogLine } from "../log-line.ts";
import { type CoreProcess, superviseCore } from "../core-process.ts";
import { forkCore } from "../fork-core.ts";
import { readPageFiles } from "../page-files.ts";
import { openBrowser } from "./open-browser.ts";
import { startWebHost, type WebHost } from "./web-host.ts";

export interface RunWebOptions {
  readonly coreEntry: string;
  readonly coreArguments: readonly string[];
  readonly screensFolder: string;
  /** As WebHostOptions. */
  readonly port: number | null;
  readonly open: boolean;
}

/** The host and its core, for closing both. */
export interface RunningWeb {
  readonly host: WebHost;
  readonly core: CoreProcess;
  close(): Promise<void>;
}

export async function runWeb(options: RunWebOptions): Promise<RunningWeb> {
  const say = createLogLine();
  const core = superviseCore({ spawn: () => forkCore({ entry: options.coreEntry, argv: options.coreArguments }), report: say });
  const host = await startWebHost({
    core,
    files: readPageFiles(options.screensFolder),
    port: options.port,
    onEntered: (nextLink) => say(`A further window: ${nextLink}`),
    report: say,
  }).catch(async (error: unknown) => {
    await core.close();
    throw error;
  });
  const link = host.link();
  const opened = options.open && (await openBrowser(link));
  say(opened ? `Gripbook is open in your browser (${link})` : `Open this address in a browser on this machine: ${link}`);
  return {
    host,
    core,
    async close() {
      await host.close();
      await core.close();
    },
  };
}
