/**
 * A complete SLCAN adapter for tests on a PTY: answers after a delay, refuses what it is told to refuse, sends the bus's frames only while
 * it is open and the bus is awake (adapter command sheet, docs/check-values.md, SLCAN).
 */
import { createPtyDevice, type PtyDevice } from "./pty-device.ts";

export interface SlcanDevice extends PtyDevice {
  /** Frames run over the bus. */
  awake: boolean;
  /** The adapter lost its supply: its channel is closed, its port is still there. */
  restart(): void;
  readonly open: boolean;
  /** Frames sent so far. */
  readonly sent: number;
}

export interface SlcanManners {
  readonly answerMs: number;
  /** Commands answered by BEL. */
  readonly refuses: readonly string[];
  /** Commands that get no answer at all. */
  readonly ignores: readonly string[];
  /** Everything but a refusal is answered twice. */
  readonly stutters: boolean;
  /** How long one answer takes in addition, ms; null: it never comes. */
  readonly whim: () => number | null;
}

const FRAME = "t1232AABB0010\r";
const FRAME_MS = 20;

export async function createSlcanDevice({
  answerMs = 5,
  refuses = ["V", "N", "F"],
  ignores = [],
  stutters = false,
  whim = () => 0,
}: Partial<SlcanManners> = {}): Promise<SlcanDevice> {
  const pty = await createPtyDevice();
  const timers = new Set<ReturnType<typeof setTimeout>>();
  let line = "";
  let open = false;
  let sent = 0;
  // One command at a time: a slow adapter answers in order.
  let freeMs = 0;

  function take(command: string, lost: boolean): void {
    const name = command[0] ?? "";
    const refused = refuses.includes(name) || (name === "F" && !open) || (name === "S" && open);
    if (!refused && name === "L") open = true;
    if (name === "C") open = false;
    if (ignores.includes(name) || lost) return;
    const answer = refused ? "\x07" : name === "F" ? "F00\r" : "\r";
    pty.write(stutters && !refused ? answer + answer : answer);
  }

  pty.onWritten((bytes) => {
    for (const letter of bytes.toString("latin1")) {
      if (letter !== "\r") {
        line += letter;
        continue;
      }
      const command = line;
      line = "";
      const extraMs = whim();
      freeMs = Math.max(freeMs, performance.now()) + answerMs + (extraMs ?? 0);
      const timer = setTimeout(() => {
        timers.delete(timer);
        take(command, extraMs === null);
      }, freeMs - performance.now());
      timers.add(timer);
    }
  });
  const device = Object.assign(Object.create(pty) as PtyDevice, {
    awake: true,
    restart() {
      open = false;
    },
    async dispose() {
      clearInterval(bus);
      for (const timer of timers) clearTimeout(timer);
      await pty.dispose();
    },
  });
  Object.defineProperty(device, "open", { get: () => open });
  Object.defineProperty(device, "sent", { get: () => sent });
  const bus = setInterval(() => {
    if (!open || !device.awake) return;
    pty.write(FRAME);
    sent += 1;
  }, FRAME_MS);
  await pty.plug();
  return device as SlcanDevice;
}
