/** Offers, once a session, the set-up that the person used before; removed where there is none any more. */
import type { BookView, Bridge } from "../../shared/contract/contract.ts";
import { overNetwork } from "../bridge/over-network.ts";
import type { Notices } from "./notices.ts";

/** Returns the function to call after each reading of the book. */
export function createOwnCarOffer(bridge: Bridge, notices: Notices, fail: (error: unknown) => void): (view: BookView) => void {
  let offered = false;
  return ({ lastCar = null }) => {
    if (lastCar === null) return notices.offer(null, "", () => undefined);
    if (offered || overNetwork()) return;
    offered = true;
    const whose = lastCar.car === "" ? "Your own car" : `Your own car, ${lastCar.car},`;
    notices.offer(`${whose} is set up in ${lastCar.setUpFile}.`, "Use my own car", () => void bridge.request("wiring.own", {}).catch(fail));
  };
}
