/**
 * The edits of one run or of several as one: label, note, set aside or use again, conditions. Each can be undone; a failed one says why in
 * the frame.
 */
import { flagList, flagWords } from "../../shared/run/flag-words.ts";
import type { Flag } from "../../shared/run/run.ts";
import type { RequestArgument, RunEdit, RunRow } from "../../shared/contract/contract.ts";
import { NOTE_LETTERS } from "../../shared/contract/letters.ts";
import type { Question } from "../screen/dialogs.ts";
import { quantity } from "../screen/format.ts";
import type { Frame } from "../screen/page.ts";
import { changedFor } from "./conditions.ts";
import { askConditions } from "./conditions-dialog.ts";

/** Bytes in the form of the contract; a file that cannot be read rejects with the browser's own words. */
async function base64Of(file: File): Promise<string> {
  const bytes = new Uint8Array(await file.arrayBuffer());
  let text = "";
  for (const byte of bytes) text += String.fromCharCode(byte);
  return btoa(text);
}

/** Of at least one run. */
export interface RunEdits {
  label(runs: readonly RunRow[]): Promise<void>;
  /** A note on runs that stay in use: on a flagged run it says why the run counts all the same. */
  note(runs: readonly RunRow[]): Promise<void>;
  review(runs: readonly RunRow[]): Promise<void>;
  conditions(runs: readonly RunRow[]): Promise<void>;
}

/** The screen's own edits, and single flags. */
export interface FlagEdits {
  overrule(run: RunRow, flag: Flag): Promise<void>;
}

const WHY = "Why (kept with the run)";

/** Letters of a note that fit in a field's name. */
const NOTE_ROOM = 60;
const quoted = (text: string) => `\u201c${text.length > NOTE_ROOM ? `${text.slice(0, NOTE_ROOM)}\u2026` : text}\u201d`;

/** "run 7", "4 runs". */
const nameOf = (runs: readonly RunRow[]) => (runs.length === 1 ? `run ${runs[0]?.id}` : `${runs.length} runs`);
const capital = (text: string) => `${text.charAt(0).toUpperCase()}${text.slice(1)}`;

/** Different texts that stand there now, without the empty one. */
const textsOf = (runs: readonly RunRow[], of: "label" | "note") => [...new Set(runs.map((run) => run[of]))].filter((text) => text !== "");
/** The text that all of them have; empty where they differ. */
const sharedText = (runs: readonly RunRow[], of: "label" | "note") =>
  runs.every((run) => run[of] === runs[0]?.[of]) ? (runs[0]?.[of] ?? "") : "";
/** What an answer takes the place of, for the name of its field: nothing where the field shows it. */
const inPlaceOf = (runs: readonly RunRow[], of: "label" | "note") =>
  sharedText(runs, of) !== "" || textsOf(runs, of).length === 0 ? "" : `, in place of ${textsOf(runs, of).map(quoted).join(", ")}`;

/** Sets runs aside, or uses them again where none of them is in use; with a reason, so that readers of the figures can judge it. */
export async function reviewRuns(frame: Frame, runs: readonly RunRow[]): Promise<void> {
  const aside = runs.some((run) => run.use);
  const meant = runs.filter((run) => run.use === aside);
  const word = aside ? "Set aside" : "Use again";
  // The reason for setting it aside is no reason to use it again: only a note on a run in use stays.
  const value = aside ? sharedText(meant, "note") : "";
  const needed = aside ? { needed: "A run is set aside with a reason: whoever reads the report must be able to judge it" } : {};
  // A run has one note, the last one written: whoever uses it again sees the note that is replaced.
  const replaced = value === "" ? textsOf(meant, "note") : [];
  const field = replaced.length === 0 ? WHY : `Why, in place of ${replaced.map(quoted).join(", ")}`;
  const note = await frame.ask({ title: `${word} ${nameOf(meant)}`, field, value, button: word, most: NOTE_LETTERS, ...needed });
  if (note === null) return;
  const edits = meant.map(({ id }): RunEdit => ({ run: id, review: { use: !aside, note } }));
  await frame.edit(`${capital(nameOf(meant))} ${aside ? "set aside" : "used again"}`, frame.bridge.request("runs.edit", { edits }));
}

/** Asks for a text of runs. A text that another window wrote meanwhile is shown, and is replaced only when a person says so. */
async function askOwn(frame: Frame, runs: readonly RunRow[], of: "label" | "note", question: Question): Promise<string | null> {
  const textOf = (id: number) => frame.runs().find((run) => run.id === id)?.[of];
  const seen = new Map(runs.map((run) => [run.id, run[of]]));
  let typed = await frame.ask(question);
  for (;;) {
    const written = [...seen]
      .map(([id, text]) => [id, textOf(id) ?? text] as const)
      .filter(([id, now]) => now !== seen.get(id) && now !== typed);
    if (typed === null || written.length === 0) return typed;
    for (const [id, now] of written) seen.set(id, now);
    const words = [...new Set(written.map(([, now]) => quoted(now)))].join(", ");
    const field = `Another window wrote ${words} meanwhile; this would take its place`;
    typed = await frame.ask({ ...question, field, value: typed, button: "Replace it" });
  }
}

async function askLabel(frame: Frame, runs: readonly RunRow[]): Promise<void> {
  const [of, value] = [nameOf(runs), sharedText(runs, "label")];
  const field = `Label${inPlaceOf(runs, "label")}`;
  const label = await askOwn(frame, runs, "label", { title: `Label of ${of}`, field, value, button: "Label" });
  if (label === null) return;
  const edits = runs.map(({ id }): RunEdit => ({ run: id, label }));
  await frame.edit(`${capital(of)} labelled`, frame.bridge.request("runs.edit", { edits }));
}

async function askNote(frame: Frame, runs: readonly RunRow[]): Promise<void> {
  const [of, value] = [nameOf(runs), sharedText(runs, "note")];
  const flags = flagList([...new Map(runs.flatMap((run) => (run.use ? run.flags : [])).map((flag) => [flag.flag, flag])).values()]);
  const field = `${flags === "" ? "Note" : `Why ${runs.length === 1 ? "it counts" : "they count"} although flagged (${flags})`}${inPlaceOf(runs, "note")}`;
  const note = await askOwn(frame, runs, "note", { title: `Note on ${of}`, field, value, button: "Note", most: NOTE_LETTERS });
  if (note === null) return;
  // A note, and its undo, must not use a run again that was set aside meanwhile: the request has both.
  const isUsed = (id: number, before: boolean) => frame.runs().find((run) => run.id === id)?.use ?? before;
  const asUsed = (argument: unknown): RequestArgument<"runs.edit"> => ({
    edits: (argument as RequestArgument<"runs.edit">).edits.map((edit) =>
      edit.review === undefined ? edit : { ...edit, review: { ...edit.review, use: isUsed(edit.run, edit.review.use) } },
    ),
  });
  const edits = runs.map(({ id, use }): RunEdit => ({ run: id, review: { use, note } }));
  await frame.edit(`${capital(of)} noted`, frame.bridge.request("runs.edit", asUsed({ edits })), asUsed);
}

/** What need not be typed, of one run and of several. */
const toldOf = (charge: number | null | undefined, runs: number) =>
  runs === 1
    ? `Charge from the bus: ${quantity(charge ?? null, "%", 0)}.`
    : "An empty line leaves what the runs noted differently, \u201c-\u201d removes it; a line that all of them share is removed when it is emptied.";

async function editConditions(frame: Frame, runs: readonly RunRow[]): Promise<void> {
  const { bridge } = frame;
  const [known, ids, of] = [frame.runs(), runs.map(({ id }) => id), nameOf(runs)];
  // Only one run starts from the run before it.
  const earlier = runs.length === 1 ? known[known.findIndex(({ id }) => id === ids[0]) - 1] : undefined;
  const { runs: noted, keys } = await bridge.request("runs.conditions", { runs: [...ids, ...(earlier === undefined ? [] : [earlier.id])] });
  const one = runs.length === 1 ? await bridge.request("run.show", { run: ids[0] as number }) : null;
  const answered = await askConditions({
    of,
    noted: noted.slice(0, ids.length),
    before: earlier === undefined ? null : { run: earlier.id, conditions: noted.at(-1) ?? {} },
    keys,
    told: toldOf(one?.run.measured.stateOfCharge, ids.length),
  });
  if (answered === null) return;
  const { set, file } = answered;
  const edits = ids.flatMap((run, i): RunEdit[] => {
    const conditions = changedFor(noted[i] ?? {}, set);
    return conditions === null ? [] : [{ run, conditions }];
  });
  if (edits.length > 0) await frame.edit(`Conditions of ${of} kept`, bridge.request("runs.edit", { edits }));
  if (file === null) return;
  const kept = bridge.request("runs.file", { runs: ids, name: file.name, base64: await base64Of(file) });
  await frame.edit(`${file.name} kept with ${of}`, kept);
}

export function createRunEdits(frame: Frame): RunEdits & FlagEdits {
  return {
    label: (runs) => askLabel(frame, runs),
    note: (runs) => askNote(frame, runs),
    review: (runs) => reviewRuns(frame, runs),
    conditions: (runs) => editConditions(frame, runs),
    async overrule(run, { flag, overruled }) {
      const back = overruled !== undefined;
      const title = `Run ${run.id}: ${flagWords({ flag })} does not count`;
      const needed = "A flag is overruled with a reason: it stands in the report";
      const note = back ? null : await frame.ask({ title, field: WHY, value: "", button: "Overrule", needed, most: NOTE_LETTERS });
      if (!back && note === null) return;
      const done = `Run ${run.id}: ${flagWords({ flag })} ${back ? "counts again" : "overruled"}`;
      await frame.edit(done, frame.bridge.request("run.overrule", { run: run.id, flag, note }));
    },
  };
}
