/**
 * Keeps the web host's process alive and passes its requests on to the core, whose recording goes on meanwhile. A host that dies is started again
 * on the same port, so that its pages find it by themselves; repeated deaths wait longer, up to 5 s. One that can't open its port at first rejects.
 */
import type { CoreLink } from "../core-process.ts";
import { type Begin, type FromHost, readFromHost, type ToHost } from "./host-messages.ts";

/** One running web host. */
export interface HostChild {
  readonly pid: number | undefined;
  /** `written` is called once the message has left this process. */
  send(message: ToHost, written: () => void): void;
  onMessage(listener: (message: unknown) => void): void;
  onExit(listener: (how: string) => void): void;
  /** Asks it to end what it does for its pages, printing above all, and then itself. */
  end(): void;
  kill(): void;
}

export interface SuperviseHostOptions {
  readonly spawn: () => HostChild;
  readonly core: CoreLink;
  /** What the next host is begun with. */
  readonly secret: () => string;
  readonly port: number | null;
  readonly screensFolder: string;
  readonly onEntered: (nonce: string) => void;
  /** Another program has the port of a host that died, and may be told by open pages what lets them in. */
  readonly onTaken: () => void;
  /** The port is open again after a host's death. */
  readonly onBack: () => void;
  readonly report: (line: string) => void;
  readonly firstDelayMs?: number;
}

export interface SupervisedHost {
  /** The port, once it is open for the first time. */
  readonly listening: Promise<number>;
  pid(): number | undefined;
  /** Ends the host for good. */
  close(): Promise<void>;
}

const LONGEST_DELAY_MS = 5_000;
const GRACE_MS = 5_000;
/** A live picture that waits behind these is skipped. */
const MOST_UNSENT_LIVE = 8;
/** A host that takes nothing for so long is stuck: it is ended, and started again. */
const MOST_UNSENT = 20_000;

export function superviseHost(options: SuperviseHostOptions): SupervisedHost {
  const { spawn, core, report, firstDelayMs = 100 } = options;
  const spent: string[] = [];
  let port = options.port;
  let child: HostChild | null = null;
  let everListened = false;
  let deathsInARow = 0;
  let closing = false;
  let timer: ReturnType<typeof setTimeout> | undefined;
  let ended: () => void = () => undefined;
  let isOpen: (port: number) => void = () => undefined;
  let isRefused: (error: Error) => void = () => undefined;
  const listening = new Promise<number>((resolve, reject) => {
    isOpen = resolve;
    isRefused = reject;
  });

  function start(): void {
    const mine = spawn();
    child = mine;
    let unsent = 0;
    const send = (message: ToHost) => {
      if (child !== mine) return;
      unsent += 1;
      mine.send(message, () => {
        unsent -= 1;
      });
      if (unsent > MOST_UNSENT) mine.kill();
    };
    const pass = ({ id, name, argument }: Extract<FromHost, { kind: "request" }>) =>
      core.request(name, argument).then(
        (answer) => send({ kind: "answer", id, ok: true, answer }),
        (error: unknown) => send({ kind: "answer", id, ok: false, error: error instanceof Error ? error.message : String(error) }),
      );
    let stop: () => void = () => undefined;

    mine.onMessage((raw) => {
      const message = readFromHost(raw);
      if (message === null) return report(`web host: a message of unknown shape: ${JSON.stringify(raw)?.slice(0, 120)}`);
      switch (message.kind) {
        case "request":
          return void pass(message);
        case "entered":
          spent.push(message.nonce);
          return options.onEntered(message.nonce);
        case "refused":
          return onRefused(message.line, message.isTaken);
        case "listening":
          if (everListened) options.onBack();
          port = message.port;
          everListened = true;
          deathsInARow = 0;
          isOpen(message.port);
          // What stands is told first, then everything that comes.
          stop = core.onEvent((event) => {
            if (event.event !== "live" || unsent < MOST_UNSENT_LIVE) send({ kind: "event", event });
          });
      }
    });
    mine.onExit((how) => {
      stop();
      child = null;
      if (closing) return ended();
      if (!everListened) return isRefused(new Error(`The screens' process ended before it could show anything (${how})`));
      if (deathsInARow === 0) report(`The screens' process ended (${how}); it is being started again, and measuring goes on`);
      timer = setTimeout(start, Math.min(firstDelayMs * 2 ** deathsInARow, LONGEST_DELAY_MS));
      deathsInARow += 1;
    });
    send({ kind: "begin", secret: options.secret(), spent, port, screensFolder: options.screensFolder } satisfies Begin);
  }

  function onRefused(line: string, isTaken: boolean): void {
    if (everListened) {
      if (isTaken) options.onTaken();
      if (deathsInARow === 1) report(`${line}; it is tried again`);
      return;
    }
    closing = true;
    isRefused(new Error(line));
  }

  start();
  return {
    listening,
    pid: () => child?.pid,
    async close() {
      closing = true;
      clearTimeout(timer);
      const running = child;
      if (running === null) return;
      await new Promise<void>((resolve) => {
        const late = setTimeout(() => running.kill(), GRACE_MS);
        ended = () => {
          clearTimeout(late);
          resolve();
        };
        running.end();
      });
    },
  };
}
