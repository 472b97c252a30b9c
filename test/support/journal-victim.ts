/** A process for tests to kill or starve: records made-up packets, one each millisecond, and says on stdout what it handed over last. Argument: the book's file. */
import { writeSync } from "node:fs";
import { createHostClock } from "../../src/main/adapters/host/host-clock.ts";
import { openSqliteBook } from "../../src/main/adapters/sqlite/sqlite-book.ts";
import { createJournalWriter } from "../../src/main/core/recording/journal-writer.ts";

const file = process.argv[2] as string;
const clock = createHostClock();
const book = openSqliteBook({ file, create: true });
if (!book.own()) throw new Error("the book is held by another process");
const { id } = book.startRecording({
  uid: `victim-${process.pid}`,
  origin: "live",
  baseUtcUs: 1_936_000_000_000_000,
  canFormat: "slcan",
  setUp: { text: "{}", signalFiles: [] },
});
const journal = createJournalWriter({ book, recording: id, onTrouble: (text) => writeSync(2, `${text ?? "stored again"}\n`) });
const startNs = clock.monotonicNs();
let sent = 0;
setInterval(() => {
  const nowNs = clock.monotonicNs() - startNs;
  while (sent * 1e6 < nowNs) {
    journal.packet({ stream: "can", arrivalNs: sent * 1e6, bytes: Buffer.from(`t123${"8".padEnd(17, (sent % 10).toString())}\r`) });
    sent += 1;
  }
  writeSync(1, `${id} ${sent}\n`);
  journal.beat(nowNs);
}, 5);
