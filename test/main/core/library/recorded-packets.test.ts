/** A recording's packets are there as often as they are asked for: one of over 23 minutes is read for its calibration, and once more for its runs (docs/design.md). */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { expect, test } from "vitest";
import { openSqliteBook } from "../../../../src/main/adapters/sqlite/sqlite-book.ts";
import { addShift, packetsOf } from "../../../../src/main/core/library/recorded-packets.ts";
import type { Packet } from "../../../../src/shared/pipeline/packet.ts";
import { START } from "../../adapters/sqlite/book-run.fixture.ts";

const PACKETS = (["can", "gnss", "can", "gnss"] as const).map(
  (stream, i): Packet => ({ stream, arrivalNs: (i + 1) * 1e9, bytes: Uint8Array.from([i]) }),
);

test("packetsOf() gives every packet again, moved or not", () => {
  const folder = mkdtempSync(join(tmpdir(), "gripbook-"));
  const book = openSqliteBook({ file: join(folder, "a.gripbook"), create: true });
  try {
    const { id } = book.startRecording(START);
    book.append(id, { packets: PACKETS, marks: [], gaps: [], clock: [] });
    for (const lateByS of [0, 1.5]) {
      if (lateByS > 0) addShift(book, id, lateByS, 0);
      const packets = packetsOf(book, id);
      const first = [...packets].map(({ stream, arrivalNs }) => [stream, arrivalNs]);
      expect(first).toHaveLength(PACKETS.length);
      expect([...packets].map(({ stream, arrivalNs }) => [stream, arrivalNs])).toEqual(first);
    }
  } finally {
    book.close();
    rmSync(folder, { recursive: true, force: true });
  }
});
