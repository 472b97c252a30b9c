/**
 * The edits of one run: label, note, set aside or use again, conditions, overruled flags. Each can be undone; a failed one says why in the
 * frame.
 */
import { flagList, flagWords } from "../../shared/run/flag-words.ts";
import type { Flag } from "../../shared/run/run.ts";
import type { RequestArgument, RunRow } from "../../shared/contract/contract.ts";
import { NOTE_LETTERS } from "../../shared/contract/letters.ts";
import type { Question } from "../screen/dialogs.ts";
import { quantity } from "../screen/format.ts";
import type { Frame } from "../screen/page.ts";
import { askConditions } from "./conditions-dialog.ts";

/** Bytes in the form of the contract; a file that cannot be read rejects with the browser's own words. */
async function base64Of(file: File): Promise<string> {
  const bytes = new Uint8Array(await file.arrayBuffer());
  let text = "";
  for (const byte of bytes) text += String.fromCharCode(byte);
  return btoa(text);
}

export interface RunEdits {
  label(run: RunRow): Promise<void>;
  /** A note on a run that stays in use: on a flagged run it says why the run counts all the same. */
  note(run: RunRow): Promise<void>;
  review(run: RunRow): Promise<void>;
  conditions(run: RunRow): Promise<void>;
}

/** The screen's own edits, and single flags. */
export interface FlagEdits {
  overrule(run: RunRow, flag: Flag): Promise<void>;
}

const WHY = "Why (kept with the run)";

/** Letters of a note that fit in a field's name. */
const NOTE_ROOM = 60;
const quoted = (text: string) => `\u201c${text.length > NOTE_ROOM ? `${text.slice(0, NOTE_ROOM)}\u2026` : text}\u201d`;

/** Sets a run aside, or uses it again; with a reason, so that readers of the figure can judge it. */
export async function reviewRun(frame: Frame, run: RunRow): Promise<void> {
  const word = run.use ? "Set aside" : "Use again";
  // The reason for setting it aside is no reason to use it again: only a note on a run in use stays.
  const value = run.use ? run.note : "";
  const needed = run.use ? { needed: "A run is set aside with a reason: whoever reads the report must be able to judge it" } : {};
  // A run has one note, the last one written: whoever uses the run again sees the note that is replaced.
  const field = run.use || run.note === "" ? WHY : `Why, in place of ${quoted(run.note)}`;
  const note = await frame.ask({ title: `${word} run ${run.id}`, field, value, button: word, most: NOTE_LETTERS, ...needed });
  if (note === null) return;
  const done = `Run ${run.id} ${run.use ? "set aside" : "used again"}`;
  await frame.edit(done, frame.bridge.request("run.review", { run: run.id, use: !run.use, note }));
}

/** Asks for a text of a run. A text that another window wrote meanwhile is shown, and is replaced only when a person says so. */
async function askOwn(frame: Frame, run: RunRow, of: "label" | "note", question: Question): Promise<string | null> {
  let seen = run[of];
  let typed = await frame.ask(question);
  for (;;) {
    const now = frame.runs().find(({ id }) => id === run.id)?.[of] ?? seen;
    if (typed === null || now === seen || now === typed) return typed;
    seen = now;
    const field = `Another window wrote ${quoted(now)} meanwhile; this would take its place`;
    typed = await frame.ask({ ...question, field, value: typed, button: "Replace it" });
  }
}

export function createRunEdits(frame: Frame): RunEdits & FlagEdits {
  const { bridge } = frame;
  const isUsed = (run: RunRow) => frame.runs().find(({ id }) => id === run.id)?.use ?? run.use;
  return {
    async label(run) {
      const text = await askOwn(frame, run, "label", {
        title: `Label of run ${run.id}`,
        field: "Label",
        value: run.label,
        button: "Label",
      });
      if (text !== null) await frame.edit(`Run ${run.id} labelled`, bridge.request("run.label", { run: run.id, label: text }));
    },
    async note(run) {
      const flags = flagList(run.flags);
      const field = flags === "" || !run.use ? "Note" : `Why it counts although flagged (${flags})`;
      const note = await askOwn(frame, run, "note", {
        title: `Note on run ${run.id}`,
        field,
        value: run.note,
        button: "Note",
        most: NOTE_LETTERS,
      });
      if (note === null) return;
      // The request has both; a note, and its undo, must not use a run again that was set aside meanwhile.
      const fit = (argument: unknown) => ({ ...(argument as RequestArgument<"run.review">), use: isUsed(run) });
      await frame.edit(`Run ${run.id} noted`, bridge.request("run.review", { run: run.id, use: isUsed(run), note }), fit);
    },
    async overrule(run, { flag, overruled }) {
      const back = overruled !== undefined;
      const title = `Run ${run.id}: ${flagWords({ flag })} does not count`;
      const needed = "A flag is overruled with a reason: it stands in the report";
      const note = back ? null : await frame.ask({ title, field: WHY, value: "", button: "Overrule", needed, most: NOTE_LETTERS });
      if (!back && note === null) return;
      const done = `Run ${run.id}: ${flagWords({ flag })} ${back ? "counts again" : "overruled"}`;
      await frame.edit(done, bridge.request("run.overrule", { run: run.id, flag, note }));
    },
    review: (run) => reviewRun(frame, run),
    async conditions(run) {
      const runs = frame.runs();
      const earlier = runs[runs.findIndex(({ id }) => id === run.id) - 1];
      const [own, before] = await Promise.all([
        bridge.request("run.show", { run: run.id }),
        earlier === undefined ? null : bridge.request("run.show", { run: earlier.id }),
      ]);
      const answered = await askConditions({
        run: run.id,
        own: own.run.conditions,
        before: before === null ? null : { run: before.run.id, conditions: before.run.conditions },
        charge: quantity(own.run.measured.stateOfCharge, "%", 0),
      });
      if (answered === null) return;
      const { set, file } = answered;
      if (Object.keys(set).length > 0)
        await frame.edit(`Conditions of run ${run.id} kept`, bridge.request("run.conditions", { run: run.id, set }));
      if (file !== null)
        await frame.edit(
          `${file.name} kept with run ${run.id}`,
          bridge.request("run.file", { run: run.id, name: file.name, base64: await base64Of(file) }),
        );
    },
  };
}
