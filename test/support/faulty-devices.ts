/**
 * A receiver and an adapter on two PTYs, fed by the simulated car's bytes at real pace, with the faults of a first day: a receiver that is
 * garbage at any baud but its own, an adapter that answers and is silent at any bit rate but the bus's. The car drives gently until told to launch.
 */
import { defaultDayPlan, launchAndTurn } from "../../src/shared/simulation/default-day.ts";
import { createDrive } from "../../src/shared/simulation/drive.ts";
import type { Segment } from "../../src/shared/simulation/plan.ts";
import { createRandom } from "../../src/shared/simulation/random.ts";
import { answerLikeAdapter, createPtyDevice, type PtyDevice } from "./pty-device.ts";

const STEP_MS = 5;

export interface FaultyDevices {
  readonly receiver: PtyDevice;
  readonly adapter: PtyDevice;
  /** True: the receiver says nothing. */
  mute: boolean;
  launch(): void;
  end(): Promise<void>;
}

export async function startFaultyDevices({
  baud,
  bitrateCommand,
  seed,
}: {
  baud: number;
  bitrateCommand: string;
  seed: number;
}): Promise<FaultyDevices> {
  const [receiver, adapter] = [await createPtyDevice({ uartBaud: baud }), await createPtyDevice()];
  await receiver.plug();
  await adapter.plug();
  let launches = 0;
  let listening = false;
  let rate = "";
  const devices = { receiver, adapter, mute: false };

  answerLikeAdapter(adapter, {
    onOpen: () => {
      listening = true;
    },
    onClose: () => {
      listening = false;
    },
  });
  adapter.onWritten((bytes) => {
    rate = /S\d/.exec(bytes.toString("latin1"))?.[0] ?? rate;
  });

  function* script(): Generator<Segment, void, undefined> {
    const random = createRandom(seed, "first day");
    for (;;) {
      if (launches > 0) {
        launches -= 1;
        yield* launchAndTurn(true, random);
      } else yield { kind: "gentle", seconds: 6 };
    }
  }
  const { segments: _, ...day } = defaultDayPlan(seed);
  const startUnixS = Math.floor(Date.now() / 1000);
  const drive = createDrive({ seed, plan: { ...day, startUnixS }, segments: script(), onLaunch: () => undefined });
  const startMs = performance.now();

  const feed = setInterval(() => {
    const untilUs = (performance.now() - startMs) * 1000;
    while (drive.nowUs() < untilUs) drive.step();
    for (const { stream, bytes } of drive.take()) {
      if (stream === "can") {
        if (listening && rate === bitrateCommand) adapter.write(bytes);
      } else if (!devices.mute) receiver.write(bytes);
    }
  }, STEP_MS);

  return Object.assign(devices, {
    launch() {
      launches += 1;
    },
    async end() {
      clearInterval(feed);
      await receiver.dispose();
      await adapter.dispose();
    },
  });
}
