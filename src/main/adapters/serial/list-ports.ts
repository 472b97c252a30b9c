/**
 * The serial ports there are, and what seems to talk on each. It listens only: nothing is written to any port. A port that
 * cannot be opened says why in `talks`; a computer whose ports cannot be listed is looked through by name.
 */
import { existsSync, readdirSync, realpathSync } from "node:fs";
import { SerialPort } from "serialport";
import type { PortView } from "../../../shared/contract/contract.ts";
import { FrameBatch } from "../../../shared/frames/frame-batch.ts";
import { createSlcanParser } from "../../../shared/frames/slcan-parser.ts";
import type { Clock } from "../../ports/clock.ts";
import type { Listening } from "../../ports/set-up-desk.ts";
import { portTrouble } from "./port-trouble.ts";
import { createReceiverTalk } from "./receiver-talk.ts";
import { openSerialLine } from "./serial-line.ts";
import { wait } from "./wait.ts";

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

async function listen(path: string, baud: number, clock: Clock, ms: number, signal: AbortSignal): Promise<Heard> {
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
  await wait(ms, signal);
  await line.close();
  signal.throwIfAborted();
  return { bytes: receiver.counts.bytes, sentences: receiver.counts.valid, frames: parser.counts.frames };
}

async function talksOn(path: string, clock: Clock, signal: AbortSignal, onStep: (share: number) => void): Promise<string> {
  let most = 0;
  try {
    for (const [i, baud] of BAUDS.entries()) {
      onStep(i / BAUDS.length);
      const heard = await listen(path, baud, clock, i === 0 ? LISTEN_MS : LISTEN_AGAIN_MS, signal);
      if (heard.sentences > 0) return `NMEA 0183 at ${baud} baud`;
      if (heard.frames > 2) return `SLCAN frames at ${baud} baud`;
      most = Math.max(most, heard.bytes);
      if (heard.bytes === 0 && i === 0) return "silent (a CAN adapter says nothing until it is opened)";
    }
  } catch (error) {
    signal.throwIfAborted();
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
  /** Absent: nobody watches, and nobody cancels. */
  readonly listening?: Listening;
}

const UNWATCHED: Listening = { signal: new AbortController().signal, onStep: () => undefined };

export async function listPorts({ clock, more, held, listening = UNWATCHED }: ListPortsOptions): Promise<PortView[]> {
  const listed = await listPaths();
  const extra = more.filter((path) => !listed.some((port) => port.path === path)).map((path) => ({ path, description: "" }));
  const all = [...listed, ...extra];
  const shares = new Map(all.filter(({ path }) => !held.includes(path)).map(({ path }) => [path, 0]));
  const say = (path: string, share: number) => {
    shares.set(path, share);
    const words = `Listening on ${shares.size === 1 ? path : `${shares.size} ports`}`;
    listening.onStep(words, Math.min(...shares.values()));
  };
  return Promise.all(
    all.map(async ({ path, description }) => {
      if (held.includes(path)) return { path, description, talks: "in use here" };
      const talks = await talksOn(path, clock, listening.signal, (share) => say(path, share));
      say(path, 1);
      return { path, description, talks };
    }),
  );
}
