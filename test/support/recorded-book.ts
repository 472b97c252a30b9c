/** A book of one closed recording, for what is handed over when something went wrong: a place (30 S 20 W, open ocean), a hole, no run. */
import { openSqliteBook } from "../../src/main/adapters/sqlite/sqlite-book.ts";
import { carSetUp } from "../../src/shared/simulation/car-files.ts";
import { defaultDayPlan } from "../../src/shared/simulation/default-day.ts";
import { nmeaSentence } from "./nmea.ts";

export function recordBook(file: string): void {
  const book = openSqliteBook({ file, create: true });
  const setUp = { text: JSON.stringify(carSetUp(defaultDayPlan(1).bus), null, 2), signalFiles: [] };
  const { id } = book.startRecording({ uid: "r", origin: "import", baseUtcUs: Date.UTC(2031, 4, 4, 10) * 1000, canFormat: "slcan", setUp });
  const packets = ["01", "02"].map((second) => ({
    stream: "gnss" as const,
    arrivalNs: Number(second) * 1e9,
    bytes: Buffer.from(nmeaSentence(`GPRMC,1000${second}.00,A,3001.23456,S,02004.56789,W,0.1,77.5,040531,,,A`)),
  }));
  const gaps = [{ stream: "can" as const, fromNs: 3e9, toNs: 5e9, cause: "the adapter was pulled out" }];
  book.append(id, { packets, marks: [], gaps, clock: [] });
  book.closeRecording(id, "closed");
  book.close();
}
