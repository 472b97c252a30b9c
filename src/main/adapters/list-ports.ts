/**
 * The serial ports there are, and what seems to talk on each. It listens only: nothing is written to any port. A port that
 * cannot be opened says why in `talks`; a computer whose ports cannot be listed is looked through by name.
 */
import { existsSync, readdirSync, realpathSync } from "node:fs";
import { SerialPort } from "serialport";
import type { PortView } from "../../shared/contract/contract.ts";
import { FrameBatch } from "../../shared/frames/frame-batch.ts";
import { createSlcanParser } from "../../shared/frames/slcan-parser.ts";
import type { Clock } from "../ports/clock.ts";
import { portTrouble } from "./port-trouble.ts";
import { createReceiverTalk } from "./receiver-talk.ts";
import { openSerialLine } from "./serial-line.ts";

/** Receivers' usual rates, the most usual first. */
const BAUDS = [115200, 9600, 38400, 57600, 230400, 460800, 4800] as const;
/** A receiver at 1 Hz speaks within a second; faster ones at once. */
const LISTEN_MS = 1100;
const LISTEN_AGAIN_MS = 450;
const NAMED = /^tty(USB|ACM|AMA|GS)\d+$/;

async function listPaths(): Promise<{ path: string; description: string }[]> {
  try {
    const listed = await SerialPort.list();
    return listed.map(({ path, manufacturer, vendorId, productId, serialNumber }) => ({
      path,
      description: [manufacturer, vendorId === undefined ? undefined : `${vendorId}:${productId ?? "?"}`, serialNumber]
        .filter((part) => part !== undefined)
        .join(" "),
    }));
  } catch (error) {
    // Without udevadm the driver cannot list; the names in /dev still can.
    if (process.platform !== "linux") throw error;
    const byId = existsSync("/dev/serial/by-id") ? readdirSync("/dev/serial/by-id").map((name) => `/dev/serial/by-id/${name}`) : [];
    const known = new Map(byId.map((link) => [realpathSync(link), link.slice("/dev/serial/by-id/".length)]));
    const named = readdirSync("/dev")
      .filter((name) => NAMED.test(name))
      .map((name) => `/dev/${name}`);
    return [...new Set([...known.keys(), ...named])].map((path) => ({ path, description: known.get(path) ?? "" }));
  }
}

interface Heard {
  readonly bytes: number;
  readonly sentences: number;
  readonly frames: number;
}

async function listen(path: string, baud: number, clock: Clock, ms: number): Promise<Heard> {
  const receiver = createReceiverTalk();
  const parser = createSlcanParser();
  const batch = new FrameBatch();
  const line = await openSerialLine({
    path,
    baud,
    clock,
    onBytes: (bytes, arrivalNs) => {
      receiver.hear(bytes, arrivalNs);
      parser.push(bytes, arrivalNs, batch);
      batch.clear();
    },
    onClose: () => undefined,
  });
  await new Promise((done) => setTimeout(done, ms));
  await line.close();
  return { bytes: receiver.counts.bytes, sentences: receiver.counts.valid, frames: parser.counts.frames };
}

async function talksOn(path: string, clock: Clock): Promise<string> {
  let most = 0;
  try {
    for (const baud of BAUDS) {
      const heard = await listen(path, baud, clock, baud === BAUDS[0] ? LISTEN_MS : LISTEN_AGAIN_MS);
      if (heard.sentences > 0) return `NMEA 0183 at ${baud} baud`;
      if (heard.frames > 2) return `SLCAN frames at ${baud} baud`;
      most = Math.max(most, heard.bytes);
      if (heard.bytes === 0 && baud === BAUDS[0]) return "silent (a CAN adapter says nothing until it is opened)";
    }
  } catch (error) {
    return portTrouble({ whose: "Port", path, place: "the port" }, error);
  }
  return `${most} bytes, none valid at any usual baud`;
}

export interface ListPortsOptions {
  readonly clock: Clock;
  /** Ports to look at besides those that the system lists: a set-up's, or typed ones. */
  readonly more: readonly string[];
  /** Ports this process has open already: not opened a second time. */
  readonly held: readonly string[];
}

export async function listPorts({ clock, more, held }: ListPortsOptions): Promise<PortView[]> {
  const listed = await listPaths();
  const extra = more.filter((path) => !listed.some((port) => port.path === path)).map((path) => ({ path, description: "" }));
  return Promise.all(
    [...listed, ...extra].map(async ({ path, description }) => ({
      path,
      description,
      talks: held.includes(path) ? "in use here" : await talksOn(path, clock),
    })),
  );
}
