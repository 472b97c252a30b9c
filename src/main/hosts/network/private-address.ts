/**
 * At which of this computer's addresses the page on the local network may be opened: private ones alone, which no router passes on to or
 * from the internet. Every other address is refused with its reason.
 */
import { BlockList, isIPv6 } from "node:net";
import type { NetworkInterfaceInfo } from "node:os";
import type { NetworkAddress, NetworkView } from "../../../shared/contract/network-contract.ts";

export type Interfaces = Readonly<Record<string, readonly NetworkInterfaceInfo[] | undefined>>;

function blocks(ipv4: readonly (readonly [string, number])[], ipv6: readonly (readonly [string, number])[]): BlockList {
  const list = new BlockList();
  for (const [net, prefix] of ipv4) list.addSubnet(net, prefix, "ipv4");
  for (const [net, prefix] of ipv6) list.addSubnet(net, prefix, "ipv6");
  return list;
}

/** RFC 1918, section 3; link-local by RFC 3927; unique local by RFC 4193. */
const PRIVATE = blocks(
  [
    ["10.0.0.0", 8],
    ["172.16.0.0", 12],
    ["192.168.0.0", 16],
    ["169.254.0.0", 16],
  ],
  [["fc00::", 7]],
);
/** RFC 4291, section 2.5.6. Such an address needs the interface's name too, and no browser's address has a place for it (URL Standard, "host parsing"). */
const NEEDS_INTERFACE = blocks([], [["fe80::", 10]]);

/** The address of the page there. */
export const networkUrl = (address: string, port: number): string => `http://${isIPv6(address) ? `[${address}]` : address}:${port}/`;

const familyOf = (address: string) => (isIPv6(address) ? "ipv6" : "ipv4");

function whyNot({ address, cidr }: NetworkInterfaceInfo): string | null {
  const family = familyOf(address);
  if (NEEDS_INTERFACE.check(address, family)) return "no browser can open such an address";
  if (!PRIVATE.check(address, family)) return "not a private address: the internet may reach it";
  return cidr === null ? "the system does not say which network it is in" : null;
}

/** This computer's addresses but those of its own loopback. */
export function ownAddresses(interfaces: Interfaces): Pick<NetworkView, "addresses" | "refused"> {
  const all = Object.entries(interfaces).flatMap(([name, infos = []]) =>
    infos.filter(({ internal }) => !internal).map((info) => ({ name, info })),
  );
  const judged = all.map(({ name, info }) => ({ name, info, why: whyNot(info) }));
  return {
    addresses: judged.flatMap(({ name, info: { address, cidr }, why }) =>
      why === null && cidr !== null ? [{ address, name, range: cidr }] : [],
    ),
    refused: judged.flatMap(({ name, info: { address }, why }) => (why === null ? [] : [{ address, name, why }])),
  };
}

/** The address as this computer has it now. Throws with the reason where the page must not be opened there. */
export function privateAddress(address: string, interfaces: Interfaces): NetworkAddress {
  const { addresses, refused } = ownAddresses(interfaces);
  const found = addresses.find((one) => one.address === address);
  if (found !== undefined) return found;
  const why = refused.find((one) => one.address === address)?.why ?? "this computer has no such address now";
  throw new RangeError(`The screens are not shown at ${address}: ${why}`);
}

/** Whether an address is in the network of `range`. */
export function isWithin(range: string): (address: string) => boolean {
  const [net = "", prefix = ""] = range.split("/");
  const list = new BlockList();
  list.addSubnet(net, Number(prefix), familyOf(net));
  return (address) => list.check(address, familyOf(address));
}
