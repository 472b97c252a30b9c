/**
 * Listens on serial ports to find out what sends there and at which baud. Nothing is written, except an adapter's listen-only commands
 * while its bit rate is searched. A port that cannot be opened gives the reason instead of throwing.
 */
import { lineOfPort } from "../../../shared/contract/port-line.ts";
import type { Clock } from "../../ports/clock.ts";
import type { PortEars } from "../../ports/set-up-desk.ts";
import { createAdapterTalk } from "./adapter-talk.ts";
import { hearPort } from "./hear-port.ts";
import { heardOn, listPorts } from "./list-ports.ts";
import { openAdapterLine } from "./serial-line.ts";
import { wait } from "../sources/wait.ts";

/** Usual bus bit rates, the most usual first (common practice, no source). */
const BITRATES = [500_000, 250_000, 1_000_000, 125_000, 800_000, 100_000, 50_000, 20_000, 10_000] as const;
const BITRATE_MS = 900;
const LEAST_FRAMES = 3;

export function createPortEars(clock: Clock): PortEars {
  return {
    hear: (path, expected, listening) => heardOn(path, listening, () => hearPort(path, expected, clock, listening)),
    async list(more, held, listening) {
      const found = await listPorts({ clock, more, held, listening });
      return found.map((port) => ({ ...port, line: lineOfPort(port.path, port.description) }));
    },
    async findBitrate(source, { signal, onStep }) {
      const talk = createAdapterTalk(source, clock, { mute: false });
      // Without its port nothing can be asked: waiting for an answer ends with it.
      const gone = new AbortController();
      const either = AbortSignal.any([signal, gone.signal]);
      const line = await openAdapterLine({
        path: source.port,
        baud: source.baud,
        clock,
        onBytes: (bytes, arrivalNs) => void talk.hear(bytes, arrivalNs),
        onClose: (why) => gone.abort(new RangeError(`${source.port} is gone (${why}): plug the adapter in again`)),
      });
      try {
        for (const [i, bitrate] of BITRATES.entries()) {
          onStep(`Listening to the bus at ${bitrate / 1000} kbit/s`, i / BITRATES.length);
          const refusal = await talk.begin(line, either, bitrate);
          if (refusal?.bitrate === true) continue;
          if (refusal !== null) throw new RangeError(refusal.words);
          const before = talk.counts.valid;
          await wait(BITRATE_MS, either);
          either.throwIfAborted();
          if (talk.counts.valid - before >= LEAST_FRAMES) return bitrate;
        }
        return null;
      } finally {
        // Cancelled or not, an adapter that was opened is closed.
        if (!gone.signal.aborted) await talk.end(line);
        await line.close();
      }
    },
  };
}
