/**
 * Gathers over a recording's chapters what is wrong with its wiring: what its driving shows, and messages that never came. Bounded: one fault of
 * each kind for each signal. Creating one throws RoleError where the set-up is impossible.
 */
import type { AlignedRecording } from "../align/aligned-recording.ts";
import type { Calibration } from "../align/calibration.ts";
import { createSignalDatabase } from "../dbc/dbc-decode.ts";
import type { DbcFile } from "../dbc/dbc-model.ts";
import type { TalliedFrame } from "../frames/frame-tally.ts";
import type { SetUp } from "../setup/set-up.ts";
import { bindRoles } from "../signals/role-binding.ts";
import { driveFaults, type WiringFault } from "./wiring-faults.ts";

export interface WiringWatch {
  add(recording: AlignedRecording, calibration: Calibration): void;
  /** `frames`: all that came over the recording. */
  faults(frames: readonly TalliedFrame[]): WiringFault[];
}

/** In less time a slow message need not have come. */
const LEAST_HEARD_S = 10;
const MOST_NAMED = 5;
const REMEDY = "choose the signal file of this car, or correct the identifier in it; Wiring lists what is heard";

export function createWiringWatch({ setUp, databases }: { setUp: SetUp; databases: readonly DbcFile[] }): WiringWatch {
  const database = createSignalDatabase(databases);
  const messages = new Map(bindRoles(database, setUp.signals).map(({ decoder: { message } }) => [message.name, message]));
  const found = new Map<string, WiringFault>();
  let endS = 0;

  function unseen(frames: readonly TalliedFrame[]): WiringFault[] {
    if (endS < LEAST_HEARD_S || messages.size === 0) return [];
    const fault = (what: string, seen: string, remedy: string): WiringFault => ({ kind: "unseen", what, seen, remedy, spoils: false });
    if (frames.length === 0)
      return [fault("bus", "not one frame came from it", "see the adapter, its bit rate and the log that was given")];
    const missing = [...messages.values()].filter(({ id, extended }) => !frames.some((one) => one.id === id && one.extended === extended));
    if (missing.length === 0) return [];
    const foreign = frames.filter(({ id, extended }) => database.find(id, extended) === undefined);
    const shown = (foreign.length > 0 ? foreign : frames).slice(0, MOST_NAMED);
    const more = (foreign.length > 0 ? foreign : frames).length - shown.length;
    const instead = `${foreign.length > 0 ? "what came and is in no signal file" : "what came"}: ${shown.map(frameWords).join(", ")}${more > 0 ? ` and ${more} more` : ""}`;
    const names = missing.map((message) => `${message.name} (${idWords(message)})`).join(", ");
    const twin = missing.find(({ id, extended }) => frames.some((one) => one.id === id && one.extended !== extended));
    const kind = twin === undefined ? "" : `; ${idWords({ ...twin, extended: !twin.extended })} did come`;
    return [fault(`frames of ${names}`, `they never came; ${instead}${kind}`, REMEDY)];
  }

  return {
    add(recording, calibration) {
      endS = Math.max(endS, recording.endS);
      for (const fault of driveFaults(recording, setUp, calibration)) {
        const key = `${fault.kind}/${fault.what}`;
        if (!found.has(key)) found.set(key, fault);
      }
    },
    faults: (frames) => [...unseen(frames), ...found.values()],
  };
}

const idWords = ({ id, extended }: { readonly id: number; readonly extended: boolean }) =>
  `0x${id
    .toString(16)
    .toUpperCase()
    .padStart(extended ? 8 : 3, "0")}${extended ? ", 29 bits" : ""}`;

const frameWords = (frame: TalliedFrame) => `${idWords(frame)}${frame.fd ? ", CAN FD" : ""} (${frame.frames})`;
