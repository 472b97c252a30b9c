/**
 * The page on the local network while it is on: a process of its own with a secret of its own, which has nothing but that secret and the
 * core's answers that only show. It rejects with the reason where it cannot be opened. One that hangs or dies is not started again.
 */
import { randomBytes } from "node:crypto";
import type { NetworkAddress, NetworkView } from "../../../shared/contract/network-contract.ts";
import type { CoreLink } from "../core-process.ts";
import { createEnding } from "../ending.ts";
import { watchSilence } from "../silence-watch.ts";
import { freshToken } from "../web/entry-keys.ts";
import { type FromHost, readFromHost } from "../web/host-messages.ts";
import { type HostChild, openChannel } from "../web/supervise-host.ts";
import { onlyShowing } from "./only-showing.ts";
import { paced } from "./paced.ts";
import { networkUrl } from "./private-address.ts";

export interface NetworkPageOptions {
  readonly at: NetworkAddress;
  readonly core: CoreLink;
  /** Starts the page's process. */
  readonly spawn: () => HostChild;
  readonly screensFolder: string;
  readonly report: (line: string) => void;
  /** It ended by itself after it was open, and why. */
  readonly onEnded: (why: string) => void;
}

export interface NetworkPage {
  readonly url: string;
  state(): NonNullable<NetworkView["on"]>;
  /** A link that works once. */
  link(): string;
  /** Resolves once its process is gone, and all its connections with it. */
  close(): Promise<void>;
}

const SECRET_BYTES = 32;
const GRACE_MS = 5_000;
/** One that says nothing for so long hangs, seconds. */
const HANGS_AFTER_S = 20;

function openedPage(at: NetworkAddress, secret: string, port: number) {
  const url = networkUrl(at.address, port);
  let screens = 0;
  let nonce = "";
  let codeUsed = false;
  return {
    url,
    state: () => ({ at, url, screens, codeUsed }),
    link() {
      const token = freshToken({ secret, port });
      nonce = token.split(".")[0] ?? "";
      codeUsed = false;
      return `${url}enter?token=${token}`;
    },
    take(message: FromHost) {
      if (message.kind === "pages") screens = message.pages;
      if (message.kind === "entered" && message.nonce === nonce) codeUsed = true;
    },
  };
}

export function openNetworkPage({ at, core, spawn, screensFolder, report, onEnded }: NetworkPageOptions): Promise<NetworkPage> {
  const secret = randomBytes(SECRET_BYTES).toString("base64url");
  const child = spawn();
  const channel = openChannel(child, onlyShowing(paced(core)));
  const watch = watchSilence((seconds) => seconds >= HANGS_AFTER_S && child.kill());
  const ending = createEnding();
  let opened: ReturnType<typeof openedPage> | null = null;
  let refused: string | null = null;
  let isClosing = false;
  return new Promise((resolve, reject) => {
    child.onMessage((raw) => {
      const message = readFromHost(raw);
      watch.heard();
      if (message === null) return report("page on the local network: a message of unknown shape");
      if (message.kind === "request") return channel.pass(message);
      if (message.kind === "refused") refused = message.line;
      opened?.take(message);
      if (message.kind !== "listening" || opened !== null) return;
      const page = openedPage(at, secret, message.port);
      opened = page;
      channel.tellEvents();
      resolve({
        url: page.url,
        state: page.state,
        link: page.link,
        async close() {
          isClosing = true;
          // Killed: it holds nothing that would have to be kept.
          await ending.within(GRACE_MS, { ask: child.kill, kill: child.kill });
        },
      });
    });
    child.onExit((how) => {
      watch.stop();
      channel.close();
      ending.ended();
      const why = refused ?? `its process ended (${how})`;
      if (opened === null) reject(new Error(why));
      else if (!isClosing) onEnded(why);
    });
    channel.send({ kind: "begin", secret, spent: [], port: null, screensFolder, network: at.address });
  });
}
