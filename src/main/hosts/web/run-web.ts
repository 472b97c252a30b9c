/**
 * Runs Gripbook in a browser: the measuring process and the web host are two children of this process, which uses no network itself.
 * Resolves once the address is printed. A child that dies is started again while the other continues.
 */
import { randomBytes } from "node:crypto";
import { createLogLine } from "../log-line.ts";
import { type CoreProcess, superviseCore } from "../core-process.ts";
import { forkCore } from "../fork-core.ts";
import { createNetworkSwitch, type NetworkSwitch } from "../network/network-switch.ts";
import { freshToken } from "./entry-keys.ts";
import { forkHost } from "./fork-host.ts";
import { type OpenedBrowser, openBrowser } from "./open-browser.ts";
import { superviseHost } from "./supervise-host.ts";

export interface RunWebOptions {
  readonly coreEntry: string;
  readonly coreArguments: readonly string[];
  readonly screensFolder: string;
  /** As WebHostOptions. */
  readonly port: number | null;
  readonly open: boolean;
}

interface RunningHost {
  readonly port: number;
  pid(): number | undefined;
  /** A fresh one-time address. */
  link(): string;
  /** Closes the screens and continues measuring. */
  close(): Promise<void>;
}

/** The host and its core, to close both. */
export interface RunningWeb {
  readonly host: RunningHost;
  readonly core: CoreProcess;
  /** What the screens ask: the core, and the switch of the page on the local network. */
  readonly network: NetworkSwitch;
  close(): Promise<void>;
}

const SECRET_BYTES = 32;
const freshSecret = () => randomBytes(SECRET_BYTES).toString("base64url");
const nonceOf = (link: string) => /token=([^.]+)/.exec(link)?.[1];

export async function runWeb(options: RunWebOptions): Promise<RunningWeb> {
  const say = createLogLine("start");
  const core = superviseCore({ spawn: () => forkCore({ entry: options.coreEntry, argv: options.coreArguments }), report: say });
  const { screensFolder } = options;
  const network = createNetworkSwitch({ core, spawn: forkHost, screensFolder, report: say });
  let secret = freshSecret();
  let wasTaken = false;
  let printed = "";
  let opened: OpenedBrowser | null = null;
  const host = superviseHost({
    spawn: forkHost,
    core: network,
    secret: () => secret,
    port: options.port,
    screensFolder,
    report: say,
    onEntered(nonce) {
      opened?.forget();
      if (nonce !== nonceOf(printed)) return;
      printed = link();
      say(`A further window: ${printed}`);
    },
    onTaken() {
      secret = freshSecret();
      wasTaken = true;
    },
    onBack() {
      if (!wasTaken) return say("The screens are back; an open page finds them by itself");
      wasTaken = false;
      printed = link();
      say(`The screens are back; another program had their address meanwhile, so open them anew: ${printed}`);
    },
  });
  const port = await host.listening.catch(async (error: unknown) => {
    await core.close();
    throw error;
  });
  const link = () => `http://127.0.0.1:${port}/enter?token=${freshToken({ secret, port })}`;
  printed = link();
  // A separate link, so that the printed one stays valid for another window, or where the browser shows nothing.
  opened = options.open ? await openBrowser(link()) : null;
  say(
    opened === null
      ? `Open this address in a browser on this machine: ${printed}`
      : `Gripbook opens in your browser; if it shows nothing, or for a further window: ${printed}`,
  );
  return {
    host: { port, pid: host.pid, link, close: host.close },
    core,
    network,
    async close() {
      await network.close();
      await core.close();
      await host.close();
      opened?.forget();
    },
  };
}
