/**
 * How every page makes edits: the edit is done, announced, and can be undone; an undone edit can be redone. A failed one says why and
 * changes nothing.
 */
import type { Bridge, Edited, RequestName } from "../../shared/contract/contract.ts";
import type { Frame } from "../screen/page.ts";
import { createHistory } from "./history.ts";
import type { Notices } from "./notices.ts";

export interface Edits {
  readonly edit: Frame["edit"];
  undo(): Promise<void>;
  redo(): Promise<void>;
}

export interface EditsOptions {
  readonly bridge: Bridge;
  readonly notices: Notices;
  readonly announce: Frame["announce"];
  readonly fail: Frame["fail"];
  reload(): Promise<void>;
  /** Whether the undo button is on the page itself, where there is room for one button only. */
  onPage(): boolean;
}

export function createEdits({ bridge, notices, announce, fail, reload, onPage }: EditsOptions): Edits {
  const history = createHistory({
    request: async (way) => (await bridge.request(way.name as RequestName, way.argument as never)) as Edited,
    async after(done, undone) {
      await reload();
      // The undone edit may belong to another page, so it is named and can be redone.
      const words = undone ? `Undone: ${done}` : done;
      // Where there is room for one button, that is the next possible action, not redo.
      notices.undo(onPage() ? null : words, () => void (undone ? redo() : undo()), undone);
      announce(undone ? words : `Done again: ${done}`);
    },
  });
  const undo = () => history.undo().catch(fail);
  const redo = () => history.redo().catch(fail);
  return {
    async edit(done, request, fit) {
      try {
        const way = (await request).undo;
        history.did({ done, way, ...(fit === undefined ? {} : { fit }) });
        await reload();
        announce(done);
        notices.undo(done, () => void undo());
      } catch (error) {
        fail(error);
      }
    },
    undo,
    redo,
  };
}
