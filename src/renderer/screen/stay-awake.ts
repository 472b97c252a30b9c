/** Keeps the laptop's screen on while a launch is possible. A refusal is reported once; the person then keeps the screen on by hand. */

export interface StayAwake {
  /** Call it with every change; does nothing when nothing changed. */
  set(wanted: boolean): void;
}

export function createStayAwake(report: (line: string) => void): StayAwake {
  let lock: WakeLockSentinel | null = null;
  let wanted = false;
  let refused = false;
  const sync = async () => {
    if (wanted && lock === null && !refused && document.visibilityState === "visible" && "wakeLock" in navigator) {
      try {
        lock = await navigator.wakeLock.request("screen");
        lock.addEventListener("release", () => {
          lock = null;
        });
      } catch {
        refused = true;
        report("This browser does not keep the screen on; set the laptop's own sleep time to never while driving");
      }
    }
    if (!wanted && lock !== null) await lock.release();
  };
  // The browser releases the lock whenever the page is hidden.
  document.addEventListener("visibilitychange", () => void sync());
  return {
    set(next) {
      if (next === wanted) return;
      wanted = next;
      void sync();
    },
  };
}
