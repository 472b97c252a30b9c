/** Lists this computer's CAN interfaces with what the system says of each. Opens none. Empty where there are none, or no such list. */
import { readdir, readFile } from "node:fs/promises";
import { join } from "node:path";
import type { PortView } from "../../../shared/contract/contract.ts";
import { isInterfaceName } from "../../../shared/setup/source-name.ts";
import { interfaceState } from "./interface-state.ts";

const NET = "/sys/class/net";
/** ARPHRD_CAN (linux/if_arp.h). */
const CAN_TYPE = "280";

async function talksOf(name: string): Promise<string> {
  const state = await interfaceState(name);
  const words = `"socketcan": "${name}" in the set-up reads it`;
  if (state === null) return `CAN interface; ${words}`;
  const listens =
    state.onlyListens === true ? "listen-only" : state.onlyListens === false ? "does not only listen" : "listen-only not known";
  const rate = state.bitrate === null ? "" : ` at ${state.bitrate / 1000} kbit/s`;
  return `CAN interface, ${state.state}${rate}, ${listens}; ${words}`;
}

export async function listInterfaces(net = NET): Promise<PortView[]> {
  const names = (await readdir(net).catch(() => [])).filter(isInterfaceName);
  const types = await Promise.all(names.map((name) => readFile(join(net, name, "type"), "utf8").catch(() => "")));
  const found = names.filter((_, i) => types[i]?.trim() === CAN_TYPE);
  return Promise.all(found.map(async (name) => ({ path: name, description: "", talks: await talksOf(name) })));
}
