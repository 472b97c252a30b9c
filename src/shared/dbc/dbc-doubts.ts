/** Warns of what can be read in a signal file but looks wrong: overlaps, signals beyond their message, a factor of 0. */
import { bitsOf, lastByteOf } from "./dbc-bits.ts";
import { BitUse } from "./dbc-bit-use.ts";
import type { DbcMessage, DbcSignal } from "./dbc-model.ts";

/** Reports each doubt once, at the signal's line. */
export function collectWarnings(messages: readonly DbcMessage[], warn: (line: number, problem: string) => void): void {
  for (const message of messages) {
    const taken = new Map<number, BitUse>();
    for (const signal of message.signals) {
      const name = `signal ${message.name}.${signal.name}`;
      if (signal.factor === 0) warn(signal.line, `${name} has factor 0: it always reads ${signal.offset}`);
      if (lastByteOf(signal) >= message.byteLength)
        warn(
          signal.line,
          `${name} ends in byte ${lastByteOf(signal)}, but the message has ${message.byteLength} bytes; it shows only in longer frames`,
        );
      let overlapped: DbcSignal | undefined;
      for (const bit of bitsOf(signal)) {
        const use = taken.get(bit) ?? new BitUse();
        overlapped ??= use.firstBeside(signal);
        use.add(signal);
        taken.set(bit, use);
      }
      if (overlapped !== undefined) warn(signal.line, `${name} overlaps ${overlapped.name}; both are shown`);
    }
  }
}
