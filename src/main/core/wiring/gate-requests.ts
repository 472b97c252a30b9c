/**
 * Own gates from the screens: stored, and the stored runs timed by them, all in one commit, so that every run stays what its journal gives.
 * When this is cancelled or fails, nothing changes. A gate that the present plan uses cannot be removed.
 */
import { BREATH_NS } from "../deriving/derive-slowly.ts";
import type { AnswersTo, RequestArgument } from "../../../shared/contract/contract.ts";
import type { GatesEdited } from "../../../shared/contract/wiring-contract.ts";
import type { Gate } from "../../../shared/launch/gate.ts";
import type { Book } from "../../ports/book.ts";
import { breathe } from "../basics/breathe.ts";
import { ownBook } from "../basics/own-book.ts";
import { type Derived, deriveSteps } from "../deriving/derive.ts";
import { ownGates, setOwnGates, timedGates, withGate } from "../judging/own-gates.ts";
import { readGate } from "../judging/read-gate.ts";
import { storeDerived } from "../deriving/settle.ts";
import { currentPlan } from "../judging/test-plan.ts";
import type { WiringDesk } from "./wiring-desk.ts";

function refuseWithPlan(book: Book, next: readonly Gate[]): void {
  const known = new Set(timedGates(next).map(({ name }) => name));
  const missed = currentPlan(book)?.plan.request.gates.find((name) => !known.has(name));
  if (missed !== undefined)
    throw new RangeError(`The present plan is about ${missed}: choose "Without a plan" first, then remove the gate`);
}

/** All figures first, then all are stored; their samples lie in a temporary file meanwhile. */
function deriveAll(desk: WiringDesk, gates: readonly Gate[]): Promise<Map<number, Derived>> {
  const { book, clock, team } = desk;
  const recordings = book.recordings();
  return desk.work("gates", async ({ signal, onStep }) => {
    const derived = new Map<number, Derived>();
    let sinceNs = clock.monotonicNs();
    for (const [i, recording] of recordings.entries()) {
      const steps = deriveSteps(book, recording, { calibration: book.newestCalibration(recording.id)?.calibration ?? null, gates, team });
      let step = steps.next();
      for (; step.done !== true; step = steps.next()) {
        if (clock.monotonicNs() - sinceNs < BREATH_NS) continue;
        onStep("Timing the stored runs", (i + step.value) / recordings.length);
        await breathe();
        // Also tells whoever times launches beside this thread that nobody waits for them.
        if (signal.aborted) steps.throw(signal.reason);
        sinceNs = clock.monotonicNs();
      }
      derived.set(recording.id, step.value);
    }
    return derived;
  });
}

/** Sets these own gates and times the stored runs by them; `change` gets the book's own gates at that time. */
async function changeGates(desk: WiringDesk, change: (book: Book) => readonly Gate[]): Promise<GatesEdited> {
  let before: readonly Gate[] = [];
  await desk.whileClosed(async () => {
    const { book, clock } = desk;
    ownBook(book);
    before = ownGates(book);
    const next = change(book);
    refuseWithPlan(book, next);
    const derived = await deriveAll(desk, timedGates(next));
    book.transaction(() => {
      setOwnGates(book, next, clock.utcUs());
      for (const [id, runs] of derived) storeDerived(book, id, runs, book.newestCalibration(id)?.id ?? null);
    });
  });
  return { undo: { name: "gates.own", argument: { gates: before } } };
}

function typed({ name, from, to }: RequestArgument<"gates.add">): Gate {
  const gate = readGate(name, [from, "From"], [to, "To"]);
  if (timedGates([]).some((standard) => standard.name === name))
    throw new RangeError(`Gate ${name} is a standard gate: it is timed already; give another one another name`);
  return gate;
}

export const gateAnswers = (desk: WiringDesk): AnswersTo<"gates.add" | "gates.own"> => ({
  "gates.add"(asked) {
    // Typing mistakes are refused before a recording is closed for the change.
    const gate = typed(asked);
    return changeGates(desk, (book) => withGate(book, gate));
  },
  "gates.own": ({ gates }) => changeGates(desk, () => gates),
});
