/**
 * Keeps the web host's process running and passes its requests on to the core, whose recording continues meanwhile. A host that dies is
 * started again on the same port, so that its pages find it by themselves; one that hangs is ended first. Repeated deaths make the wait longer, up to 5 s. A first host
 * that cannot open its port rejects.
 */
import type { CoreLink } from "../core-process.ts";
import { createEnding } from "../ending.ts";
import { createRevival } from "../revival.ts";
import { type SilenceWatch, watchSilence } from "../silence-watch.ts";
import { type Begin, type FromHost, readFromHost, type ToHost } from "./host-messages.ts";
import { wordsOf } from "../../../shared/kernel/words-of.ts";

/** One running web host. */
export interface HostChild {
  readonly pid: number | undefined;
  /** `written` is called once the message has left this process. */
  send(message: ToHost, written: () => void): void;
  onMessage(listener: (message: unknown) => void): void;
  onExit(listener: (how: string) => void): void;
  /** Asks it to end what it does for its pages, such as printing, and then to exit. */
  end(): void;
  kill(): void;
}

export interface SuperviseHostOptions {
  readonly spawn: () => HostChild;
  readonly core: CoreLink;
  /** The secret for the next host. */
  readonly secret: () => string;
  readonly port: number | null;
  readonly screensFolder: string;
  readonly onEntered: (nonce: string) => void;
  /** Another program now has the port of a host that died, and open pages may send it what lets them in. */
  readonly onTaken: () => void;
  /** The port is open again after a host's death. */
  readonly onBack: () => void;
  readonly report: (line: string) => void;
  readonly firstDelayMs?: number;
}

export interface SupervisedHost {
  /** Resolves with the port when it is open for the first time. */
  readonly listening: Promise<number>;
  pid(): number | undefined;
  /** Ends the host for good. */
  close(): Promise<void>;
}

const GRACE_MS = 5_000;
/** One that says nothing for so long hangs, seconds: its screens stand. It holds nothing that another would not hold. */
const HANGS_AFTER_S = 5;
/** With this many messages waiting, a live event is skipped. */
const MOST_UNSENT_LIVE = 8;
/** A host with this many messages waiting is stuck: it is ended and started again. */
const MOST_UNSENT = 20_000;

/** A promise that is settled from outside. */
function createLatch<T>() {
  let resolve: (value: T) => void = () => undefined;
  let reject: (error: Error) => void = () => undefined;
  const promise = new Promise<T>((good, bad) => {
    resolve = good;
    reject = bad;
  });
  return { promise, resolve, reject };
}

/** The launcher's side of one host's messages. */
export function openChannel(child: HostChild, core: CoreLink) {
  let unsent = 0;
  let isOpen = true;
  let stop: () => void = () => undefined;
  const send = (message: ToHost) => {
    if (!isOpen) return;
    unsent += 1;
    child.send(message, () => {
      unsent -= 1;
    });
    if (unsent > MOST_UNSENT) child.kill();
  };
  return {
    send,
    pass({ id, name, argument }: Extract<FromHost, { kind: "request" }>): void {
      core.request(name, argument).then(
        (answer) => send({ kind: "answer", id, ok: true, answer }),
        (error: unknown) => send({ kind: "answer", id, ok: false, error: wordsOf(error) }),
      );
    },
    /** First what is present, then every new event. */
    tellEvents(): void {
      stop = core.onEvent((event) => {
        if (event.event !== "live" || unsent < MOST_UNSENT_LIVE) send({ kind: "event", event });
      });
    },
    close(): void {
      isOpen = false;
      stop();
    },
  };
}

export function superviseHost(options: SuperviseHostOptions): SupervisedHost {
  const { spawn, core, report, firstDelayMs = 100 } = options;
  const spent: string[] = [];
  let port = options.port;
  let child: HostChild | null = null;
  let everListened = false;
  let closing = false;
  const first = createLatch<number>();
  const revival = createRevival(firstDelayMs);
  const ending = createEnding();

  function start(): void {
    const mine = spawn();
    child = mine;
    const channel = openChannel(mine, core);
    let watch: SilenceWatch | null = null;
    mine.onMessage((raw) => {
      const message = readFromHost(raw);
      watch?.heard();
      if (message === null) return report("web host: a message of unknown shape");
      if (message.kind === "alive" || message.kind === "pages") return;
      if (message.kind === "request") return channel.pass(message);
      if (message.kind === "refused") return onRefused(message.line, message.isTaken);
      if (message.kind === "entered") {
        spent.push(message.nonce);
        return options.onEntered(message.nonce);
      }
      onListening(message.port);
      channel.tellEvents();
      watch ??= watchSilence((seconds) => seconds >= HANGS_AFTER_S && mine.kill());
    });
    mine.onExit((how) => {
      watch?.stop();
      channel.close();
      onExit(how);
    });
    const { screensFolder } = options;
    channel.send({ kind: "begin", secret: options.secret(), spent, port, screensFolder, network: null } satisfies Begin);
  }

  function onListening(opened: number): void {
    if (everListened) options.onBack();
    port = opened;
    everListened = true;
    revival.well();
    first.resolve(opened);
  }

  function onRefused(line: string, isTaken: boolean): void {
    if (everListened) {
      if (isTaken) options.onTaken();
      if (revival.deaths() === 1) report(`${line}; it is tried again`);
      return;
    }
    closing = true;
    first.reject(new Error(line));
  }

  function onExit(how: string): void {
    child = null;
    if (closing) {
      ending.ended();
      return;
    }
    if (!everListened) {
      first.reject(new Error(`The screens' process ended before it could show anything (${how})`));
      return;
    }
    if (revival.deaths() === 0) report(`The screens' process ended (${how}); it is being started again, and measuring goes on`);
    revival.again(start);
  }

  start();
  return {
    listening: first.promise,
    pid: () => child?.pid,
    async close() {
      closing = true;
      revival.cancel();
      const running = child;
      if (running !== null) await ending.within(GRACE_MS, { ask: () => running.end(), kill: () => running.kill() });
    },
  };
}
