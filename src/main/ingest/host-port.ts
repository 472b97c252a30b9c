/**
 * The connection to the host that started the measuring process: a Node parent, or Electron. Sending to a host that has gone does nothing.
 */

export interface HostPort {
  send(message: unknown): void;
  onMessage(listener: (message: unknown) => void): void;
  onLost(listener: () => void): void;
  /** The host says when to end, also where a terminal is closed. */
  readonly outlivesTerminal: boolean;
}

interface UtilityPort {
  postMessage(message: unknown): void;
  on(name: "message", listener: (event: { data: unknown }) => void): void;
}

export function hostPort(): HostPort {
  const { parentPort } = process as unknown as { parentPort?: UtilityPort };
  if (parentPort !== undefined && parentPort !== null) {
    return {
      send: (message) => parentPort.postMessage(message),
      onMessage: (listener) => parentPort.on("message", (event) => listener(event.data)),
      // Electron ends its utility processes with a signal.
      onLost: () => undefined,
      outlivesTerminal: false,
    };
  }
  return {
    send(message) {
      // A host that has gone at this very moment is noticed by "disconnect".
      if (process.connected) process.send?.(message, undefined, undefined, () => undefined);
    },
    onMessage: (listener) => process.on("message", listener),
    onLost: (listener) => process.on("disconnect", listener),
    outlivesTerminal: true,
  };
}
