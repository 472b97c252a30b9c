// Byte time on a UART by arithmetic: 8N1 is ten bits a byte, so a byte at 9,600 baud takes 1,041.667 us. The wire below delivers bytes one
// by one; a reader takes them in packets of any size, as from a PTY or a USB bridge.
import { describe, expect, test } from "vitest";
import { byteTimesOf, createByteClock, firstByteTimed, withoutByteTime } from "../../../src/shared/pipeline/byte-time.ts";
import type { Packet } from "../../../src/shared/pipeline/packet.ts";
import { createEpochAssembler } from "../../../src/shared/receiver/epoch-assembler.ts";
import { nmeaSentence } from "../../support/nmea.ts";
import { random, SET_UP } from "../align/gentle-drive.ts";

const BAUD = 9600;
const BYTE_NS = 1e10 / BAUD;
const onUart = { gnss: { port: "COM3", baud: BAUD, line: "uart" as const } };

const burst = (second: number) =>
  nmeaSentence(`GPRMC,1200${String(second).padStart(2, "0")}.00,A,3000.0000,S,02000.0000,W,10.000,90.0,040531,,,A`) +
  nmeaSentence("GPVTG,90.0,T,,M,10.000,N,18.520,K,A");

/** Bursts that begin on whole seconds, read in packets cut at random; a packet is stamped when its last byte has arrived. */
function readWire(seed: number, seconds: number): Packet[] {
  const { uniform } = random(seed);
  const packets: Packet[] = [];
  for (let second = 1; second <= seconds; second++) {
    const bytes = new TextEncoder().encode(burst(second));
    for (let from = 0; from < bytes.length; ) {
      const to = Math.min(bytes.length, from + 1 + Math.floor(90 * uniform()));
      const arrivalNs = Math.round((second * 1e9 + to * BYTE_NS) / 1000) * 1000;
      packets.push({ stream: "gnss", arrivalNs, bytes: bytes.subarray(from, to) });
      from = to;
    }
  }
  return packets;
}

function epochArrivals(packets: Iterable<Packet>): number[] {
  const assembler = createEpochAssembler();
  const arrivals: number[] = [];
  const emit = (epoch: { arrivalNs: number }) => arrivals.push(epoch.arrivalNs);
  for (const { bytes, arrivalNs } of packets) assembler.push(bytes, arrivalNs, emit);
  assembler.flush(emit);
  return arrivals;
}

describe("byte time", () => {
  test("is ten bits a byte on what is called a UART, and nothing elsewhere", () => {
    expect(byteTimesOf(onUart).gnss).toBeCloseTo(1_041_666.67, 1);
    expect(byteTimesOf({ gnss: { port: "COM3", baud: BAUD } })).toEqual({ gnss: 0, can: 0 });
    expect(byteTimesOf({ gnss: { port: "/dev/ttyACM0", baud: BAUD, line: "usb" } })).toEqual({ gnss: 0, can: 0 });
    expect(byteTimesOf({})).toEqual({ gnss: 0, can: 0 });
  });

  test("takes a packet of 20 bytes at 9,600 baud back by 19 bytes: 19,792 us", () => {
    const clock = createByteClock({ gnss: BYTE_NS, can: 0 });
    const [part] = clock({ stream: "gnss", arrivalNs: 1e9, bytes: new TextEncoder().encode("$GPRMC,120001.00,A,3") });
    expect(part.arrivalNs).toBe(1e9 - 19_792_000);
  });

  test("gives each epoch the arrival of its first byte, however the wire was cut", () => {
    for (let seed = 1; seed <= 10; seed++) {
      const packets = readWire(seed, 8);
      const arrivals = epochArrivals(firstByteTimed(packets, byteTimesOf(onUart)));
      expect(arrivals).toHaveLength(8);
      // The first byte has arrived one byte time after the burst began; whole microseconds.
      arrivals.forEach((arrivalNs, i) => {
        expect(Math.abs(arrivalNs - ((i + 1) * 1e9 + BYTE_NS))).toBeLessThanOrEqual(1000);
      });
      const raw = epochArrivals(packets);
      expect(Math.max(...raw.map((arrivalNs, i) => arrivalNs - arrivals[i]))).toBeGreaterThan(10e6);
    }
  });

  test("changes no byte, no order, and no packet of a line that takes no time", () => {
    const packets = readWire(3, 4);
    const parts = [...firstByteTimed(packets, byteTimesOf(onUart))];
    const text = (list: readonly Packet[]) => list.map(({ bytes }) => new TextDecoder().decode(bytes)).join("");
    expect(text(parts)).toBe(text(packets));
    for (let i = 1; i < parts.length; i++) expect(parts[i].arrivalNs).toBeGreaterThanOrEqual(parts[i - 1].arrivalNs);
    expect([...firstByteTimed(packets, { gnss: 0, can: 0 })]).toEqual(packets);
  });

  test("is not taken off logs", () => {
    const can = { port: "COM4", baud: 115200, line: "uart" as const, bitrate: 500000, adapterClock: false };
    const setUp = { ...SET_UP, sources: { ...onUart, can } };
    expect(byteTimesOf(setUp.sources).can).toBeGreaterThan(0);
    const logs = withoutByteTime(setUp);
    expect(byteTimesOf(logs.sources)).toEqual({ gnss: 0, can: 0 });
    expect(logs.sources.can).toMatchObject({ adapterClock: false });
    expect(logs.sources.gnss).toMatchObject({ baud: BAUD });
  });
});
