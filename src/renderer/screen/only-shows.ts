/** Whether this screen only shows: reached over the local network, or as narrow as a phone. It then says what needs the laptop. */
import { overNetwork } from "../bridge/over-network.ts";

export const onlyShows = (): boolean => overNetwork() || window.matchMedia("(max-width: 700px)").matches;
