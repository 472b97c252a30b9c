/** Why a CAN adapter is not used, in one line each that names its port and what to do. Pure; never fails. */
import type { SlcanSource } from "../../../shared/setup/set-up.ts";
import type { Refusal } from "../sources/device-talk.ts";

const LOOK = "(`ports` shows what talks)";

export const adapterRefusals = ({ port, baud }: Pick<SlcanSource, "port" | "baud">) => {
  const refused = (words: string, bitrate = false): Refusal => ({ words: `CAN adapter on ${port}: ${words}`, bitrate });
  return {
    receiver: () =>
      refused(
        "a receiver's NMEA sentences arrive there, so nothing is written to it: exchange sources.can.port and sources.gnss.port in the set-up",
      ),
    wrongBaud: () =>
      refused(
        `something talks there, but not at ${baud} baud, so nothing is written to it: correct sources.can.port or sources.can.baud in the set-up ${LOOK}`,
      ),
    noAnswer: () => refused(`no answer: correct sources.can.port or sources.can.baud in the set-up ${LOOK}, or plug the adapter in again`),
    bitrate: (bitrate: number) => refused(`it refused ${bitrate} bit/s: correct sources.can.bitrate in the set-up`, true),
    notOpen: (what: string) =>
      refused(`it ${what}, so its channel stays closed and nothing goes on the bus: use an adapter that knows the L command`),
  };
};
