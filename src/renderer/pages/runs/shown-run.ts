/** The run that is looked at, its columns once they came, and the run that others are laid over. A run that cannot be read says why in the frame's place. */
import type { RunRow } from "../../../shared/contract/contract.ts";
import type { Frame } from "../../screen/page.ts";
import { keepPicked, keptPick } from "./picked-run.ts";
import { createRunData, type RunData } from "./run-data.ts";

export interface ShownRun {
  id(): number | null;
  row(): RunRow | undefined;
  /** The columns read last: of the run before until its own came. */
  data(): RunData | null;
  /** Whether they are its own. */
  loaded(): boolean;
  reference(): RunData | null;
  /** Both runs are there, and are not the same. */
  laidOver(): boolean;
  /** Looks at a run. */
  pick(id: number): void;
  /** The one picked before a reload, else the newest, where none is looked at; false where there is none. */
  pickFirst(): boolean;
  /** The run that many places on in the book. */
  pickBeside(step: number): void;
  /** The next time the newest is looked at. */
  forget(): void;
  /** Reads it anew: its gates, or whether it counts, may have changed. */
  load(): void;
  /** Keeps this run for others to be laid over it, or lets that go; answers the one kept. */
  turnReference(): RunData | null;
}

export interface ShownRunOptions {
  readonly frame: Frame;
  /** The run before is left for another. */
  onLeave(): void;
  /** A run is looked at; its columns are on their way. */
  onPick(): void;
  /** Its columns came. */
  onLoad(): void;
}

export function createShownRun({ frame, onLeave, onPick, onLoad }: ShownRunOptions): ShownRun {
  let selected: number | null = null;
  let data: RunData | null = null;
  let reference: RunData | null = null;

  async function read(id: number): Promise<void> {
    const [view, columns] = await Promise.all([
      frame.bridge.request("run.show", { run: id }),
      frame.bridge.request("run.columns", { run: id }),
    ]);
    if (id !== selected) return;
    data = createRunData(view, columns);
    onLoad();
  }

  const shown: ShownRun = {
    id: () => selected,
    row: () => frame.runs().find((run) => run.id === selected),
    data: () => data,
    loaded: () => data !== null && data.view.run.id === selected,
    reference: () => reference,
    laidOver: () => shown.loaded() && reference !== null && reference.view.run.id !== selected,
    pick(id) {
      if (id !== selected) onLeave();
      selected = id;
      // Asked before the page is drawn anew: the answer is under way meanwhile.
      shown.load();
      keepPicked(id);
      onPick();
    },
    pickFirst() {
      const first = frame.runs().find(({ id }) => id === keptPick()) ?? frame.runs().at(-1);
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
      if (selected !== null) read(selected).catch(frame.fail);
    },
    turnReference() {
      reference = reference === null ? data : null;
      return reference;
    },
  };
  return shown;
}
