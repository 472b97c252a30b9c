/**
 * Who may speak to the loopback host: Host and Origin are each held against a list of our own names, before routing.
 * Comparing the two with each other would pass when a hostile page supplies both.
 */

export interface Asker {
  readonly host: string | undefined;
  readonly origin: string | undefined;
}

/** The names under which this machine reaches its own loopback, all with our port and nothing else. */
const hostNames = (port: number) => [`127.0.0.1:${port}`, `localhost:${port}`, `[::1]:${port}`];

/** Why the asker is refused, or null. An upgrade must carry an Origin, as every browser sends one. */
export function refuse({ host, origin }: Asker, port: number, kind: "page" | "upgrade"): string | null {
  const hosts = hostNames(port);
  if (host === undefined || !hosts.includes(host.toLowerCase())) return "Host is not this machine's own address";
  if (origin === undefined) return kind === "upgrade" ? "Origin is missing" : null;
  if (!hosts.some((name) => origin.toLowerCase() === `http://${name}`)) return "Origin is not this program's own page";
  return null;
}
