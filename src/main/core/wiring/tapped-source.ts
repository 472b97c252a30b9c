/** A source whose reports and bytes are heard on their way to the core. While the set-up is not whole the core hears no bytes. */
import type { Packet } from "../../../shared/pipeline/packet.ts";
import type { ByteSource, SourceReport } from "../../ports/byte-source.ts";

export interface TapOn {
  report(report: SourceReport): void;
  packet(packet: Packet): void;
  /** Whether the core is to have the bytes. */
  isWhole(): boolean;
}

export function tapSource(source: ByteSource, tap: TapOn): ByteSource {
  const { stream, canFormat } = source;
  return {
    stream,
    canFormat,
    stop: () => source.stop(),
    start(listener) {
      source.start({
        onReport(report) {
          tap.report(report);
          listener.onReport(report);
        },
        onGap: (cause, fromNs, toNs) => listener.onGap(cause, fromNs, toNs),
        onBytes(bytes, arrivalNs) {
          tap.packet({ stream, arrivalNs, bytes });
          if (tap.isWhole()) listener.onBytes(bytes, arrivalNs);
        },
      });
    },
  };
}
