/**
 * The core as a page on the local network has it: it answers the contract's requests that only show (contract/reach.ts), and refuses every
 * other, known or not, before its argument is looked at. It stands on both sides of the pipe: in the process that the network can reach, and
 * in the one that holds the core, so that whoever takes over the first still only reads.
 */
import { checkRequest, REQUESTS, type RequestName } from "../../../shared/contract/contract.ts";
import { mayShow, ONLY_SHOWS } from "../../../shared/contract/reach.ts";
import type { CoreLink } from "../core-process.ts";

const isKnown = (name: string): name is RequestName => Object.hasOwn(REQUESTS, name);

export function onlyShowing(core: CoreLink): CoreLink {
  return {
    async request(name, argument) {
      if (!isKnown(name) || !mayShow(name)) throw new Error(ONLY_SHOWS);
      return core.request(name, checkRequest(name, argument).argument);
    },
    onEvent: core.onEvent,
  };
}
