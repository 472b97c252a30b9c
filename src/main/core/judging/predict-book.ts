/**
 * Tries a change on the fitted car of a book, for one group of runs. An unknown group or gate throws RangeError; what cannot be tried says
 * why.
 */
import type { PredictAnswer } from "../../../shared/contract/tune-views.ts";
import { groupControl } from "../../../shared/tune/group-control.ts";
import { lookingRates } from "../../../shared/tune/looking-rates.ts";
import { predict } from "../../../shared/tune/predict.ts";
import type { Trial } from "../../../shared/tune/trial.ts";
import type { Book } from "../../ports/book.ts";
import { breathe } from "../basics/breathe.ts";
import { askedOf, fittedOf, labelsOf } from "./advise-book.ts";

export interface PredictRequest {
  readonly group: string;
  readonly gate?: string | undefined;
  readonly trial: Trial;
}

const NOTHING = { seconds: null, gainS: null, measuredS: null, simulatedS: null, notes: [], looks: [] };

export async function predictBook(book: Book, { group, gate: wanted, trial }: PredictRequest): Promise<PredictAnswer> {
  const { gate, start } = askedOf(book, wanted);
  const all = book.runs();
  labelsOf(
    all.map((run) => run.label),
    [group],
  );
  const { found, car, grip } = await fittedOf(book);
  const asked = { simulation: true as const, group, gate: gate.name, start, trial };
  if (car === null) return { ...asked, ...NOTHING, words: "Nothing can be driven again.", why: "No run in use shows the car." };
  const label = new Map(all.map((run) => [run.id, run.label]));
  const runs = found.runs.filter((run) => label.get(run.id) === group && found.counts(run.id));
  await breathe();
  const question = { runs, gate, start, car, curves: grip, control: groupControl(runs, car, null), trial };
  await breathe();
  const { course: _, ...said } = predict(question);
  await breathe();
  return { ...asked, ...said, looks: said.seconds === null ? [] : lookingRates(question) };
}
