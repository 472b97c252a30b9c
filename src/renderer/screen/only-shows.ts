/** Whether this screen only shows: reached over the local network, or as narrow as a phone. It then says where the rest is done. */
import { overNetwork } from "../bridge/over-network.ts";

export const onlyShows = (): boolean => overNetwork() || window.matchMedia("(max-width: 700px)").matches;

/** Where something is done that this screen has no room for, or may not do: "Label and note at the laptop". */
export const whereDone = (what: string): string => `${what} ${overNetwork() ? "at the laptop" : "by key, or in a wider window"}`;
