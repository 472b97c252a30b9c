/**
 * Turns the page on the local network on and off: off at first, on only at a private address that a person chose, with a secret that is
 * made anew each time. Whatever goes wrong with it, it stays off until a person turns it on again.
 */
import { networkInterfaces } from "node:os";
import { checkRequest, type RequestArgument } from "../../../shared/contract/contract.ts";
import {
  NETWORK_REQUESTS,
  type NetworkAnswers,
  type NetworkRequestName,
  type NetworkView,
} from "../../../shared/contract/network-contract.ts";
import type { CoreLink } from "../core-process.ts";
import { createStandingEvents } from "../standing-events.ts";
import { type NetworkPage, type NetworkPageOptions, openNetworkPage } from "./network-page.ts";
import { type Interfaces, ownAddresses, privateAddress } from "./private-address.ts";

export interface NetworkSwitchOptions extends Pick<NetworkPageOptions, "core" | "spawn" | "screensFolder" | "report"> {
  readonly interfaces?: () => Interfaces;
}

/** The core, with answers to the requests about this page. */
export interface NetworkSwitch extends CoreLink {
  /** Turns the page off for good. */
  close(): Promise<void>;
}

type NetworkAnswerers = {
  readonly [N in NetworkRequestName]: (argument: RequestArgument<N>) => Promise<NetworkAnswers[N]>;
};

const NOTICE_KEY = "network";
const OFF = "The page on the local network is off";
const CLOSING = "Gripbook is closing";

function createAnswerers(options: NetworkSwitchOptions, notice: (text: string | null) => void) {
  const { report, interfaces = networkInterfaces } = options;
  let page: NetworkPage | null = null;
  let isClosed = false;
  const view = (): NetworkView => ({ ...ownAddresses(interfaces()), on: page?.state() ?? null });

  function onEnded(why: string): void {
    page = null;
    report(`${OFF}: ${why}`);
    notice(`${OFF}: ${why}. F1 turns it on again.`);
  }

  async function off(): Promise<void> {
    const open = page;
    page = null;
    await open?.close();
    notice(null);
    if (open !== null) report(OFF);
  }

  async function on(address: string): Promise<NetworkAnswers["network.on"]> {
    const at = privateAddress(address, interfaces());
    await off();
    if (isClosed) throw new Error(CLOSING);
    const opened = await openNetworkPage({ ...options, at, onEnded });
    page = opened;
    const words = `These screens are also shown at ${opened.url} to whoever has the code in the network of ${at.name}`;
    report(`${words}; F1 turns it off`);
    notice(`${words}. F1 turns it off.`);
    return { link: opened.link(), view: view() };
  }

  let last: Promise<unknown> = Promise.resolve();
  /** One at a time: of two pages at once nobody would turn off the first. */
  function inTurn<T>(work: () => Promise<T>): Promise<T> {
    const mine = last.then(work);
    last = mine.catch(() => undefined);
    return mine;
  }

  const answers: NetworkAnswerers = {
    "network.read": async () => view(),
    "network.on": ({ address }) => inTurn(() => on(address)),
    async "network.code"() {
      if (page === null) throw new RangeError(`${OFF}: turn it on first`);
      return { link: page.link(), view: view() };
    },
    async "network.off"() {
      await inTurn(off);
      return view();
    },
  };
  return {
    answers,
    async close() {
      isClosed = true;
      await inTurn(off);
    },
  };
}

export function createNetworkSwitch(options: NetworkSwitchOptions): NetworkSwitch {
  const { core } = options;
  const events = createStandingEvents();
  const { answers, close } = createAnswerers(options, (text) => events.tell({ event: "notice", key: NOTICE_KEY, text }));
  return {
    async request(name, argument) {
      if (!Object.hasOwn(NETWORK_REQUESTS, name)) return core.request(name, argument);
      const checked = checkRequest(name, argument);
      return answers[checked.name as NetworkRequestName](checked.argument as never);
    },
    onEvent(listener) {
      const stop = [core.onEvent(listener), events.onEvent(listener)];
      return () => {
        for (const each of stop) each();
      };
    },
    close,
  };
}
