/** Keeps the laptop's screen on while a launch may come. A refusal is reported once: the person then keeps it awake by hand. */

export interface StayAwake {
  /** Call with every change; cheap when nothing changes. */
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
  // The browser drops the lock whenever the page is hidden.
  document.addEventListener("visibilitychange", () => void sync());
  return {
    set(next) {
      if (next === wanted) return;
      wanted = next;
      void sync();
    },
  };
}
