/** Sources by name: what a set-up says of one, as people read it, and an address taken apart. Pure; never fails. */
import type { CanSource, GnssSource, SerialPortSource } from "./set-up.ts";

export interface Endpoint {
  readonly host: string;
  readonly port: number;
}

/** gpsd's own (IANA, service "gpsd"). */
export const GPSD_PORT = 2947;

/** A name, an IPv4 address, or an IPv6 address in brackets as in a URL (RFC 3986, section 3.2.2); then the port. */
const ENDPOINT = /^(?:([A-Za-z0-9](?:[A-Za-z0-9._-]{0,252}))|\[([0-9A-Fa-f:.]{2,45}(?:%[A-Za-z0-9._-]{1,15})?)\])(?::(\d{1,5}))?$/;

/** "host:port" or "[IPv6]:port"; null where it is not that. `usualPort` stands in for a port that is not named; null: it must be. */
export function readEndpoint(text: unknown, usualPort: number | null): Endpoint | null {
  const match = typeof text === "string" ? ENDPOINT.exec(text) : null;
  if (match === null) return null;
  const port = match[3] === undefined ? usualPort : Number(match[3]);
  if (port === null || port < 1 || port > 65_535) return null;
  return { host: match[1] ?? match[2] ?? "", port };
}

/** Of a network interface: the pattern that such a name must match before it is given to a program. */
const INTERFACE = /^[A-Za-z0-9._-]{1,15}$/;

/** A leading hyphen would be an option of the program, and all the dots are folders. */
export const isInterfaceName = (name: unknown): name is string => typeof name === "string" && INTERFACE.test(name) && !/^[-.]/.test(name);

export const isSerial = <S extends GnssSource | CanSource>(source: S): source is Extract<S, SerialPortSource> => "port" in source;

/** Short, for people and for telling one receiver from another: a port, or an address with what it is. */
export function sourceName(source: GnssSource | CanSource): string {
  if ("gpsd" in source) return `gpsd ${source.gpsd}`;
  if ("tcp" in source) return `TCP ${source.tcp}`;
  if ("socketcan" in source) return `SocketCAN ${source.socketcan}`;
  if ("udp" in source) return `UDP port ${source.udp}`;
  return source.port;
}

/** The names of the serial ports among a set-up's sources: those that nobody else may open. */
export const serialPorts = (sources: Readonly<Record<string, GnssSource | CanSource | undefined>>): string[] =>
  Object.values(sources).flatMap((source) => (source !== undefined && isSerial(source) ? [source.port] : []));
