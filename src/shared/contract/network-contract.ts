/**
 * Requests and answers about the page on the local network. Part of the contract, checked at the edge like the rest, but answered by the
 * program that holds the page (main/hosts/network), never by the core.
 */
import * as v from "valibot";

/** The longest way to write an IPv6 address (RFC 4291, section 2.2). */
const LONGEST_ADDRESS = 45;

export const NETWORK_REQUESTS = {
  "network.read": v.strictObject({}),
  /** Opens the page at one private address of this computer. */
  "network.on": v.strictObject({ address: v.pipe(v.string(), v.maxLength(LONGEST_ADDRESS)) }),
  /** Another code, for another screen. */
  "network.code": v.strictObject({}),
  "network.off": v.strictObject({}),
} as const;

export type NetworkRequestName = keyof typeof NETWORK_REQUESTS;

/** An address of this computer. */
export interface NetworkAddress {
  readonly address: string;
  /** Of the interface, as the system calls it. */
  readonly name: string;
  /** The address with the length of its network's prefix: who is in that network can reach it. */
  readonly range: string;
}

export interface NetworkView {
  readonly addresses: readonly NetworkAddress[];
  /** Addresses at which the page is not opened, and why not. */
  readonly refused: readonly { readonly address: string; readonly name: string; readonly why: string }[];
  /** Null while the page is off. */
  readonly on: null | {
    readonly at: NetworkAddress;
    readonly url: string;
    /** Screens that are connected now. */
    readonly screens: number;
    /** The newest code was scanned: it opens nothing more. */
    readonly codeUsed: boolean;
  };
}

/** The address behind the code. It works once and is told once. */
interface NetworkCode {
  readonly link: string;
  readonly view: NetworkView;
}

export interface NetworkAnswers {
  "network.read": NetworkView;
  "network.on": NetworkCode;
  "network.code": NetworkCode;
  "network.off": NetworkView;
}
