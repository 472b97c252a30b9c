/** A private address of the machine that the tests run on; null where it has none, and then the tests that need one say so aloud. */
import { networkInterfaces } from "node:os";
import { ownAddresses } from "../../src/main/hosts/network/private-address.ts";

export const ownPrivateAddress: string | null = ownAddresses(networkInterfaces()).addresses[0]?.address ?? null;
if (ownPrivateAddress === null) console.warn("SKIPPED: the page on the local network, for want of a private address on this machine");
