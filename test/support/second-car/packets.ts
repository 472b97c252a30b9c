/** A second-car drive's logs as the packets a laptop would have heard, on the drive's own time. A line without a stamp gives NaN. */
import type { Packet } from "../../../src/shared/pipeline/packet.ts";
import { type DriveFiles, WALL_S } from "./files.ts";

function read(stream: Packet["stream"], text: string, end: string): Packet[] {
  return text
    .split(/\r?\n/)
    .filter((line) => line !== "")
    .map((line) => {
      const space = line.indexOf(" ");
      const [whole = "0", micros = "0"] = line.slice(1, space - 1).split(".");
      const arrivalNs = ((Number(whole) - WALL_S) * 1e6 + Number(micros)) * 1e3;
      return { stream, arrivalNs, bytes: new TextEncoder().encode(line.slice(space + 1) + end) };
    });
}

export const inOrder = (packets: readonly Packet[]): Packet[] => [...packets].sort((a, b) => a.arrivalNs - b.arrivalNs);

export const packetsOf = (files: DriveFiles): Packet[] =>
  inOrder([...read("gnss", files["receiver.nmea"], "\r\n"), ...read("can", files["bus.slcan"], "\r")]);
