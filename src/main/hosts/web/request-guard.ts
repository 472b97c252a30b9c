/**
 * Who may ask a host: Host and Origin are each compared with a list of the host's own names, before routing. Comparing them with each other
 * would pass when a hostile page supplies both.
 */

export interface Asker {
  readonly host: string | undefined;
  readonly origin: string | undefined;
}

/** Why the client is refused, or null. `hosts`: the host's own names, each with its port. A WebSocket upgrade must have an Origin, as every browser sends one. */
export function refuse({ host, origin }: Asker, hosts: readonly string[], kind: "page" | "upgrade"): string | null {
  if (host === undefined || !hosts.includes(host.toLowerCase())) return "Host is not this program's own address";
  if (origin === undefined) return kind === "upgrade" ? "Origin is missing" : null;
  if (!hosts.some((name) => origin.toLowerCase() === `http://${name}`)) return "Origin is not this program's own page";
  return null;
}
