/** Calls a function with every frame of the screen while it is on. */
export interface FrameLoop {
  start(): void;
  stop(): void;
}

export function createFrameLoop(step: (nowMs: number) => void): FrameLoop {
  let handle: number | null = null;
  const next = (nowMs: number) => {
    handle = requestAnimationFrame(next);
    step(nowMs);
  };
  return {
    start() {
      handle ??= requestAnimationFrame(next);
    },
    stop() {
      if (handle !== null) cancelAnimationFrame(handle);
      handle = null;
    },
  };
}
