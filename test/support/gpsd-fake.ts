/** Debian's gpsd, fed a capture by its own gpsfake (packages gpsd, gpsd-tools, python3-gps). Without them `whyNoGpsd` says so. */
import { type ChildProcess, spawn, spawnSync } from "node:child_process";
import { once } from "node:events";
import { connect } from "node:net";
import { freeTcpPort } from "./net-sender.ts";
import { started } from "./started.ts";

/** A program, not a file, so that PATH finds it; Debian keeps daemons in /usr/sbin. */
const GPSFAKE = "gpsfake";
const GPSD = "gpsd";
const env = { ...process.env, PATH: `${process.env.PATH ?? ""}:/usr/sbin` };

export const whyNoGpsd: string | null =
  spawnSync(GPSFAKE, ["-h"], { env }).status === 0 && spawnSync(GPSD, ["-V"], { env }).error === undefined
    ? null
    : "gpsd or gpsfake is not installed (apt-get install gpsd gpsd-clients): no gpsd to test with";

export interface FakedGpsd {
  readonly port: number;
  stop(): Promise<void>;
}

/** Whether somebody answers there with gpsd's greeting. */
const greets = (port: number) =>
  new Promise<boolean>((done) => {
    const socket = connect(port, "127.0.0.1");
    socket.once("error", () => done(false));
    socket.once("data", () => {
      socket.destroy();
      done(true);
    });
  });

/** `captures`: each is one receiver. Sentences come `cycleS` apart, over and over. */
export async function startGpsd(captures: readonly string[], cycleS: number, onPort?: number): Promise<FakedGpsd> {
  const port = onPort ?? (await freeTcpPort());
  const child: ChildProcess = spawn(GPSFAKE, ["-P", String(port), "-c", String(cycleS), "-q", "-n", ...captures], {
    stdio: "ignore",
    detached: true,
    env,
  });
  const gone = once(child, "exit");
  while (!(await greets(port))) {
    if (child.exitCode !== null) throw new Error(`gpsfake ended with ${child.exitCode}`);
    await new Promise((done) => setTimeout(done, 50));
  }
  return {
    port,
    async stop() {
      // With its gpsd, which is of the same group.
      process.kill(-started(child.pid), "SIGTERM");
      await gone;
    },
  };
}
