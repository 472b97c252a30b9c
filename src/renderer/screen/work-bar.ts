/**
 * Long work of the measuring process, at the foot of every page but Drive: what, how much, and Cancel. Work of less than half a second is
 * not shown.
 */
import type { Bridge, WorkEvent, WorkName } from "../../shared/contract/contract.ts";
import { createWorkRod } from "./work-rod.ts";

/** Shorter work is done before its bar could be read. */
export const WORK_MS = 500;

export interface WorkBar {
  readonly element: HTMLElement;
  on(event: WorkEvent): void;
  /** Cancels the work that is shown; false where nothing can be cancelled. */
  cancel(): boolean;
}

/** `names`: the kinds of work shown here. */
export function createWorkBar(bridge: Bridge, fail: (error: unknown) => void, names: readonly WorkName[]): WorkBar {
  const going = new Map<WorkName, WorkEvent>();
  const rod = createWorkRod(() => bar.cancel());
  let sinceMs: number | null = null;
  let timer: ReturnType<typeof setTimeout> | undefined;

  const shown = () => [...going.values()].at(-1) ?? null;
  function render(): void {
    const now = shown();
    if (now === null) {
      sinceMs = null;
      clearTimeout(timer);
      rod.show(null);
      return;
    }
    sinceMs ??= performance.now();
    const waitMs = WORK_MS - (performance.now() - sinceMs);
    clearTimeout(timer);
    if (waitMs <= 0) rod.show({ words: now.words ?? "", share: now.share, cancellable: now.cancellable });
    else timer = setTimeout(render, waitMs);
  }

  const bar: WorkBar = {
    element: rod.element,
    on(event) {
      if (!names.includes(event.work)) return;
      if (event.words === null) going.delete(event.work);
      else going.set(event.work, event);
      render();
    },
    cancel() {
      const now = shown();
      if (now === null || !now.cancellable) return false;
      bridge.request("work.cancel", { work: now.work }).catch(fail);
      return true;
    },
  };
  return bar;
}
