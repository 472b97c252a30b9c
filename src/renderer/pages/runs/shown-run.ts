/**
 * The selected run, its columns once they have come, and the run that others are compared with. A run that cannot be read says why in the
 * frame.
 */
import type { RunRow } from "../../../shared/contract/contract.ts";
import type { Frame } from "../../screen/page.ts";
import { keepPicked, keptPick } from "./picked-run.ts";
import { createRunData, type RunData } from "./run-data.ts";

export interface ShownRun {
  id(): number | null;
  row(): RunRow | undefined;
  /** Its own columns; null until they have come. */
  data(): RunData | null;
  /** "Reading run 3" while they are awaited, that they could not be read, otherwise "". */
  waiting(): string;
  reference(): RunData | null;
  /** Both runs are loaded, and are not the same. */
  laidOver(): boolean;
  /** Selects a run. */
  pick(id: number): void;
  /** Where no run is selected: selects the one from before a reload, otherwise the newest; false where there is none. */
  pickFirst(): boolean;
  /** Selects the run that is `step` places later in the book. */
  pickBeside(step: number): void;
  /** The next time the newest is selected. */
  forget(): void;
  /** Reads it again: its gates, or whether it counts, may have changed. */
  load(): void;
  /** Keeps this run for comparison, or releases it; returns the one kept. */
  turnReference(): RunData | null;
}

export interface ShownRunOptions {
  readonly frame: Frame;
  /** The run before is left. */
  onLeave(): void;
  /** A run was selected; its columns are requested. */
  onPick(): void;
  /** Its columns have come, or could not be read. */
  onLoad(): void;
}

export function createShownRun({ frame, onLeave, onPick, onLoad }: ShownRunOptions): ShownRun {
  let selected: number | null = null;
  let data: RunData | null = null;
  let reference: RunData | null = null;
  let failed: number | null = null;

  async function read(id: number): Promise<void> {
    const [view, columns] = await Promise.all([
      frame.bridge.request("run.show", { run: id }),
      frame.bridge.request("run.columns", { run: id }),
    ]);
    if (id !== selected) return;
    data = createRunData(view, columns);
    onLoad();
  }

  function failRead(id: number, error: unknown): void {
    failed = id;
    onLoad();
    frame.fail(error);
  }

  const shown: ShownRun = {
    id: () => selected,
    row: () => frame.runs().find((run) => run.id === selected),
    data: () => (data?.view.run.id === selected ? data : null),
    waiting() {
      if (selected === null || shown.data() !== null) return "";
      return failed === selected ? `Run ${selected} could not be read` : `Reading run ${selected}`;
    },
    reference: () => reference,
    laidOver: () => shown.data() !== null && reference !== null && reference.view.run.id !== selected,
    pick(id) {
      if (id !== selected) onLeave();
      selected = id;
      // Requested before the page is drawn: the answer is on its way meanwhile.
      shown.load();
      keepPicked(shown.row()?.uid ?? null);
      onPick();
    },
    pickFirst() {
      const kept = keptPick();
      const first = frame.runs().find(({ uid }) => uid === kept) ?? frame.runs().at(-1);
      if (selected !== null || first === undefined) return false;
      shown.pick(first.id);
      return true;
    },
    pickBeside(step) {
      const runs = frame.runs();
      const next = runs[runs.findIndex((run) => run.id === selected) + step];
      if (next !== undefined) shown.pick(next.id);
    },
    forget() {
      selected = null;
      keepPicked(null);
    },
    load() {
      const id = selected;
      failed = null;
      if (id !== null) read(id).catch((error) => failRead(id, error));
    },
    turnReference() {
      reference = reference === null ? shown.data() : null;
      return reference;
    },
  };
  return shown;
}
