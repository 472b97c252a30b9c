/**
 * Lists the computer's serial ports and what seems to send on each. Only listens: nothing is written to any port. A port that cannot be
 * opened says why in `talks`. Where the system cannot list ports, names in /dev are used.
 */
import { existsSync, readdirSync, realpathSync } from "node:fs";
import type { PortView } from "../../../shared/contract/contract.ts";
import type { Clock } from "../../ports/clock.ts";
import type { HeardPort, Listening } from "../../ports/set-up-desk.ts";
import { hearPort } from "./hear-port.ts";
import { portTrouble } from "./port-trouble.ts";
import { systemPorts } from "./serial-line.ts";

const NAMED = /^tty(USB|ACM|AMA|GS)\d+$/;

async function listPaths(): Promise<{ path: string; description: string }[]> {
  try {
    const listed = await systemPorts();
    return listed.map(({ path, manufacturer, vendorId, productId, serialNumber }) => ({
      path,
      description: [manufacturer, vendorId === undefined ? undefined : `${vendorId}:${productId ?? "?"}`, serialNumber]
        .filter((part) => part !== undefined)
        .join(" "),
    }));
  } catch (error) {
    // Without udevadm the driver cannot list ports, but the names in /dev can.
    if (process.platform !== "linux") throw error;
    const byId = existsSync("/dev/serial/by-id") ? readdirSync("/dev/serial/by-id").map((name) => `/dev/serial/by-id/${name}`) : [];
    const known = new Map(byId.map((link) => [realpathSync(link), link.slice("/dev/serial/by-id/".length)]));
    const named = readdirSync("/dev")
      .filter((name) => NAMED.test(name))
      .map((name) => `/dev/${name}`);
    return [...new Set([...known.keys(), ...named])].map((path) => ({ path, description: known.get(path) ?? "" }));
  }
}

/** What listening found; for a port that cannot be opened the reason. Rejects with the signal's reason. */
export async function heardOn(path: string, { signal }: Listening, listen: () => Promise<HeardPort>): Promise<HeardPort> {
  try {
    return await listen();
  } catch (error) {
    signal.throwIfAborted();
    return { trouble: "trouble", words: portTrouble({ whose: "Port", path, place: "the port" }, error), receiverBaud: null, bytes: 0 };
  }
}

const talksOf = ({ trouble, words }: HeardPort) =>
  trouble === "silent" ? "silent (a CAN adapter says nothing until it is opened)" : trouble === "adapterHere" ? `SLCAN ${words}` : words;

type PortHeard = PortView & { readonly receiverBaud: number | null };

export interface ListPortsOptions {
  readonly clock: Clock;
  /** Further ports to listen on: those of a set-up, or typed ones. */
  readonly more: readonly string[];
  /** Ports that this process has already open: not opened a second time. */
  readonly held: readonly string[];
  /** Absent: nobody sees the progress, and nobody cancels. */
  readonly listening?: Listening;
}

const UNWATCHED: Listening = { signal: new AbortController().signal, onStep: () => undefined };

export async function listPorts({ clock, more, held, listening = UNWATCHED }: ListPortsOptions): Promise<PortHeard[]> {
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
      if (held.includes(path)) return { path, description, talks: "in use here", receiverBaud: null };
      const heard = await heardOn(path, listening, () =>
        hearPort(path, null, clock, { signal: listening.signal, onStep: (_, share) => say(path, share) }),
      );
      say(path, 1);
      return { path, description, talks: talksOf(heard), receiverBaud: heard.receiverBaud };
    }),
  );
}
