/** Offers, once a sitting, the set-up that a person had before; taken away where there is none any more. */
import type { BookView, Bridge } from "../../shared/contract/contract.ts";
import type { Notices } from "./notices.ts";

/** Answers what is to be called with every reading of the book. */
export function createOwnCarOffer(bridge: Bridge, notices: Notices, fail: (error: unknown) => void): (view: BookView) => void {
  let offered = false;
  return ({ lastCar = null }) => {
    if (lastCar === null) return notices.offer(null, "", () => undefined);
    if (offered) return;
    offered = true;
    const whose = lastCar.car === "" ? "Your own car" : `Your own car, ${lastCar.car},`;
    notices.offer(`${whose} is set up in ${lastCar.setUpFile}.`, "Use my own car", () => void bridge.request("wiring.own", {}).catch(fail));
  };
}
