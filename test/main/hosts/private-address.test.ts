/** Which addresses are private: RFC 1918, RFC 3927 (link-local), RFC 4193 (unique local); the rest after IANA's special-purpose address registries. */
import type { NetworkInterfaceInfo } from "node:os";
import { expect, test } from "vitest";
import { isWithin, networkUrl, ownAddresses, privateAddress } from "../../../src/main/hosts/network/private-address.ts";

const at = (address: string, prefix = address.includes(":") ? 64 : 24, internal = false) =>
  ({
    address,
    cidr: `${address}/${prefix}`,
    internal,
    mac: "",
    netmask: "",
    family: address.includes(":") ? "IPv6" : "IPv4",
  }) as NetworkInterfaceInfo;

test.each([
  "10.0.0.1",
  "10.255.255.254",
  "172.16.0.1",
  "172.31.255.254",
  "192.168.0.1",
  "192.168.43.1",
  "169.254.7.9",
  "fd00::2",
  "fc00::1",
])("%s is private", (address) => {
  const here = { wlan0: [at(address)] };
  expect(privateAddress(address, here)).toMatchObject({ address, name: "wlan0" });
  expect(ownAddresses(here).refused).toEqual([]);
});

test.each([
  // Documentation, shared between providers (RFC 6598), global, multicast, "this host", next to the private blocks.
  "192.0.2.2",
  "100.64.0.1",
  "8.8.8.8",
  "224.0.0.1",
  "0.0.0.0",
  "9.255.255.255",
  "11.0.0.0",
  "172.15.255.255",
  "172.32.0.0",
  "192.167.255.255",
  "192.169.0.0",
  "169.253.255.255",
  "2001:db8::1",
  "2a00:1450::1",
  "::",
  "fbff::1",
  "fe00::1",
])("%s is refused, with the reason, also where this computer has it", (address) => {
  const here = { eth0: [at(address)] };
  expect(ownAddresses(here).addresses).toEqual([]);
  expect(ownAddresses(here).refused).toEqual([{ address, name: "eth0", why: "not a private address: the internet may reach it" }]);
  expect(() => privateAddress(address, here)).toThrow(`The screens are not shown at ${address}: not a private address`);
});

test("a private address that this computer does not have is refused, and so are its own loopback, names and whatever else is no address", () => {
  const here = { lo: [at("127.0.0.1", 8, true), at("::1", 128, true)], wlan0: [at("192.168.1.5")], gone: undefined };
  expect(ownAddresses(here)).toEqual({ addresses: [{ address: "192.168.1.5", name: "wlan0", range: "192.168.1.5/24" }], refused: [] });
  for (const other of ["192.168.1.6", "127.0.0.1", "::1", "localhost", "192.168.1.5.", "192.168.001.5", " 192.168.1.5", "", "0"])
    expect(() => privateAddress(other, here), other).toThrow(/this computer has no such address now$/);
});

test("a link-local IPv6 address is refused as no browser can open it, and one without its network as nobody knows who is in it", () => {
  const here = { wlan0: [at("fe80::1"), { ...at("192.168.1.5"), cidr: null }] };
  expect(ownAddresses(here).refused.map(({ why }) => why)).toEqual([
    "no browser can open such an address",
    "the system does not say which network it is in",
  ]);
});

test("who is in the address's network is told from who is not", () => {
  const near = isWithin("192.168.1.5/24");
  expect(["192.168.1.1", "192.168.1.254"].map(near)).toEqual([true, true]);
  expect(["192.168.2.1", "10.0.0.1", "8.8.8.8", "fd00::1", "::ffff:192.168.2.1", ""].map(near)).toEqual(Array(6).fill(false));
  expect(isWithin("fd00::2/64")("fd00::99")).toBe(true);
  expect(isWithin("fd00::2/64")("fd00:0:0:1::99")).toBe(false);
  // RFC 3986, section 3.2.2: an IPv6 address in an address stands in brackets.
  expect(networkUrl("fd00::2", 61734)).toBe("http://[fd00::2]:61734/");
});
