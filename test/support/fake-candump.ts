/**
 * A candump of the tests on PATH: this sandbox's kernel has no CAN, so the real one cannot open an interface. It notes its arguments, says
 * what the test writes, and ends when told to. Its `ip` answers what the test gives, in the form of iproute2's JSON.
 */
import { chmodSync, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { createServer, type Server, type Socket } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";

export interface FakeCandump {
  /** To be put before the rest of PATH. */
  readonly folder: string;
  /** The arguments of every start. */
  starts(): string[];
  /** The arguments of every `ip`. */
  asked(): string[];
  write(text: string): void;
  /** Whether one runs. */
  readonly runs: boolean;
  /** Ends the running one, as when its interface is gone. */
  end(): void;
  /** What `ip` prints from now on; null: that there is no such device. */
  link(shown: object | null): void;
  dispose(): Promise<void>;
}

/** From memory of iproute2's ip/iplink_can.c (6.1): print_ctrlmode and can_print_opt. */
export const canLink = (modes: readonly string[], up = true) => ({
  ifname: "can0",
  flags: ["NOARP", ...(up ? ["UP", "LOWER_UP"] : []), "ECHO"],
  link_type: "can",
  linkinfo: {
    info_kind: "can",
    info_data: { ...(modes.length === 0 ? {} : { ctrlmode: modes }), state: "ERROR-ACTIVE", bittiming: { bitrate: 500_000 } },
  },
});

export async function createFakeCandump(): Promise<FakeCandump> {
  const folder = mkdtempSync(join(tmpdir(), "gripbook-candump-"));
  const door = join(folder, "door");
  let socket: Socket | null = null;
  const server: Server = createServer((incoming) => {
    socket = incoming;
    incoming.on("error", () => undefined);
    incoming.once("close", () => {
      if (socket === incoming) socket = null;
    });
  });
  await new Promise<void>((done) => server.listen(door, done));
  const program = (name: string, script: string) => {
    writeFileSync(join(folder, name), `#!/bin/sh\necho "$*" >> ${folder}/${name}.args\n${script}\n`);
    chmodSync(join(folder, name), 0o755);
  };
  program("candump", `exec socat -u UNIX-CONNECT:${door} STDOUT`);
  program("ip", `test -s ${folder}/link || { echo 'Device "can0" does not exist.' >&2; exit 1; }\ncat ${folder}/link`);
  const lines = (file: string) => (existsSync(join(folder, file)) ? readFileSync(join(folder, file), "utf8").trim().split("\n") : []);
  return {
    folder,
    starts: () => lines("candump.args"),
    asked: () => lines("ip.args"),
    write: (text) => void socket?.write(text),
    get runs() {
      return socket !== null;
    },
    end: () => void socket?.destroy(),
    link: (shown) => writeFileSync(join(folder, "link"), shown === null ? "" : JSON.stringify([shown])),
    async dispose() {
      socket?.destroy();
      await new Promise((done) => server.close(done));
      rmSync(folder, { recursive: true, force: true });
    },
  };
}
