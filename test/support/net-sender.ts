/** A sender of the tests on a network: socat, which passes on what it is given (Debian package socat). Without it `whyNoPty` says so. */
import { type ChildProcess, spawn } from "node:child_process";
import { once } from "node:events";
import { createSocket } from "node:dgram";
import { type AddressInfo, createServer } from "node:net";

/** Debian package socat; a name, not a file, so that PATH finds it. */
const SOCAT = "socat";

export interface NetSender {
  write(bytes: Uint8Array | string): void;
  /** Bytes that came back from the product, all so far. */
  readonly written: Buffer;
  /** Ends it; its connection with it. */
  stop(): Promise<void>;
}

/** A TCP port that nobody listens at just now. */
export async function freeTcpPort(): Promise<number> {
  const server = createServer().listen(0, "127.0.0.1");
  await once(server, "listening");
  const { port } = server.address() as AddressInfo;
  server.close();
  await once(server, "close");
  return port;
}

/** A UDP port that nobody has just now. */
export async function freeUdpPort(): Promise<number> {
  const socket = createSocket("udp4").bind(0);
  await once(socket, "listening");
  const { port } = socket.address();
  socket.close();
  await once(socket, "close");
  return port;
}

/** `to`: socat's address, such as TCP-LISTEN:10110,reuseaddr or UDP-SENDTO:127.0.0.1:10110. Datagrams go out as they are written. */
export async function startNetSender(to: string): Promise<NetSender> {
  const child: ChildProcess = spawn(SOCAT, ["-d", "-d", "STDIO", to], { stdio: ["pipe", "pipe", "pipe"] });
  let written = Buffer.alloc(0);
  let said = "";
  child.stdin?.on("error", () => undefined);
  child.stdout?.on("data", (bytes: Buffer) => {
    written = Buffer.concat([written, bytes]);
  });
  const ready = new Promise<void>((done, failed) => {
    child.stderr?.on("data", (bytes: Buffer) => {
      said += bytes.toString("latin1");
      // Socat's own notices: listening, or for datagrams the loop that passes bytes on.
      if (/listening on|starting data transfer/.test(said)) done();
    });
    child.once("exit", () => failed(new Error(`socat ended: ${said}`)));
  });
  await ready;
  return {
    write: (bytes) => void child.stdin?.write(bytes),
    get written() {
      return written;
    },
    async stop() {
      if (child.exitCode !== null || child.signalCode !== null) return;
      const gone = once(child, "exit");
      child.kill();
      await gone;
    },
  };
}
