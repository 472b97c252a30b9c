/**
 * What the system says of a CAN interface, read by `ip -details -json link show NAME` (iproute2), which only shows. Null where it cannot be
 * asked; an interface that is not there gives state "absent". Never rejects.
 */
import { execFile } from "node:child_process";
import { promisify } from "node:util";
import { isInterfaceName } from "../../../shared/setup/source-name.ts";

const run = promisify(execFile);
const PATIENCE_MS = 3000;

export interface InterfaceState {
  readonly state: "up" | "down" | "absent";
  /** Null where the system does not say: then it may not only listen. A virtual interface has no bus: true. */
  readonly onlyListens: boolean | null;
  /** Bits a second; null where it does not say. */
  readonly bitrate: number | null;
}

interface ShownLink {
  readonly flags?: readonly string[];
  readonly link_type?: string;
  readonly linkinfo?: {
    readonly info_kind?: string;
    readonly info_data?: { readonly ctrlmode?: readonly string[]; readonly bittiming?: { readonly bitrate?: number } };
  };
}

/** From what `ip` printed; null where that is no CAN interface. */
export function stateOf(shown: string): InterfaceState | null {
  const [link] = JSON.parse(shown) as ShownLink[];
  if (link === undefined || link.link_type !== "can") return null;
  const { info_kind: kind, info_data: data } = link.linkinfo ?? {};
  return {
    state: link.flags?.includes("UP") === true ? "up" : "down",
    // Without any mode set, iproute2 leaves the list out.
    onlyListens: kind === "vcan" || kind === "vxcan" ? true : kind === "can" ? (data?.ctrlmode ?? []).includes("LISTEN-ONLY") : null,
    bitrate: data?.bittiming?.bitrate ?? null,
  };
}

export async function interfaceState(name: string): Promise<InterfaceState | null> {
  if (!isInterfaceName(name)) return null;
  try {
    const { stdout } = await run("ip", ["-details", "-json", "link", "show", name], { timeout: PATIENCE_MS });
    return stateOf(stdout);
  } catch (error) {
    const { stderr = "" } = error as { stderr?: string };
    return /does not exist/i.test(stderr) ? { state: "absent", onlyListens: null, bitrate: null } : null;
  }
}
