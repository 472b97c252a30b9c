/**
 * The one place that knows which receiver protocols there are. An ear only counts bytes that form valid sentences; a reader gives epochs.
 * Bounded memory, linear work, never throws. A further protocol is added here, beside NMEA 0183, and recognised by its bytes.
 */
import { createEpochAssembler, type EpochAssembler } from "./epoch-assembler.ts";
import { createNmeaScanner, type NmeaCounts } from "./nmea-sentence.ts";

export interface ReceiverEar {
  push(bytes: Uint8Array): void;
  readonly counts: Readonly<NmeaCounts>;
}

export function createReceiverEar(): ReceiverEar {
  const nmea = createNmeaScanner();
  return {
    push(bytes) {
      nmea.push(bytes, 0, () => undefined);
    },
    counts: nmea.counts,
  };
}

export type ReceiverReader = EpochAssembler;

export const createReceiverReader = (): ReceiverReader => createEpochAssembler();
